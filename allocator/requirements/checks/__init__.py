"""Cross-checks of a draft, a file for each kind of table; each check yields every fault of its kind."""
