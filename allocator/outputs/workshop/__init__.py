"""Paper for the bench: what to cut, crimp, insert and close, in building order; legends, labels and test sheets."""
