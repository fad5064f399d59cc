"""The gates: the list of them, and one place for each kind of gate."""
