"""Files that others made: read in a worker process, one driver a format, everything bounded."""
