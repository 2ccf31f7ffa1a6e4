"""A living system: add, remove and re-cut with every issued key kept; the lost key; room left."""
