"""`python -m spawnwright`: the command line."""

import os

# The arrays here are small: a second thread of the linear algebra costs more than it brings,
# half as much processor time again in `sterilize`. Whoever knows better sets it beforehand.
os.environ.setdefault("OPENBLAS_NUM_THREADS", "1")

from spawnwright.cli import main

if __name__ == "__main__":
    main()
