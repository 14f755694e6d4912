"""The ways in: they parse, call the desk and print."""
