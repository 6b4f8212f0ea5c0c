"""Tests; `tests/run.py` sets up what they need and runs them all.

The libraries under numpy get one thread, as the command line gives them: tests run side by side.
"""

import os

for _name in ("OPENBLAS_NUM_THREADS", "OMP_NUM_THREADS", "MKL_NUM_THREADS"):
    os.environ.setdefault(_name, "1")
