"""Run the command line with ``python -m turfmap``."""

from turfmap.doors.cli.main import main

if __name__ == "__main__":
    main()
