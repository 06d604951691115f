"""`python -m pipeline` is the same as `feeding-audit`."""

from pipeline.console.cli import main

if __name__ == "__main__":
    main()
