"""The days of work: what a load holds, how much of it, and where it may go."""
