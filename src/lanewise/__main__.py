"""Run the command line with ``python -m lanewise``."""

from lanewise.cli.main import main

if __name__ == "__main__":
    main()
