"""The plan of spray days: which stop, on which day, with which truck, and when."""
