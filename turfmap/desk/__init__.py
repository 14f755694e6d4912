"""One whole piece of work a file: opens the store, calls the floors below, gives results."""
