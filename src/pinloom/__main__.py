"""`python -m pinloom` is the command line."""

from pinloom.cli import main

if __name__ == "__main__":
    main()
