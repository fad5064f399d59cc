"""The weigh pads: what came off, what nobody foresaw, what goes on, and the car itself."""
