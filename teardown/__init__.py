"""Strip an old road car to bare metal, safely, and write down every kilo."""

__version__ = "0.1.0"
