"""One command a file: `add_arguments(parser)` and `run(args) -> exit status`."""
