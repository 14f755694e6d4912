"""turfmap: every patch of ground, what is due on it, and where not to spray.

Nothing is re-exported here: import the module that holds the thing.
"""
