"""Run the command line as ``python -m coach``."""

from coach.cli import main

if __name__ == "__main__":
    main()
