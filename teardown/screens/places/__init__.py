"""The places of the screen, one a file: each paints itself and says what its keys do."""
