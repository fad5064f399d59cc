"""One car's folder: its facts, its log, the state folded from it, its gates, and the one door for entries."""
