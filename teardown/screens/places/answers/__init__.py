"""Questions about the car: what it has, and what the rules keep on it."""
