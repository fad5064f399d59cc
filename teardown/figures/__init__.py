"""What the person cannot work out in their head: pure calculations, one subject a file.

SI floats in, frozen results out; no file, no clock, no screen. Importing costs the standard library only: numpy and
scipy are imported inside the functions that need them.
"""
