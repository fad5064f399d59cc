"""`python -m teardown` is the same as `teardown`."""

import sys

from teardown.cli import main

if __name__ == "__main__":
    sys.exit(main())
