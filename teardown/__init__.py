"""Strip an old road car to bare metal, safely, and write down every kilo."""

import os

__version__ = "0.1.0"

os.environ["PYDANTIC_DISABLE_PLUGINS"] = "__all__"  # what a pack says is checked alike, whatever else is installed
