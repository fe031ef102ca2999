"""Words of the command line in, calls into the rooms above, text and an exit status out; no other room prints."""
