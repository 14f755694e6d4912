"""Plain results made into pages people read. Opens no user's file."""
