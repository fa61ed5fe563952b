"""`python -m spawnwright`: the command line."""

from spawnwright.cli import main

if __name__ == "__main__":
    main()
