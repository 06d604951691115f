"""The caseload outcomes pipeline: exports in, a report of what happened to everyone out.

The matrices here are small: a second thread of the linear algebra ends them no sooner, spins meanwhile, and may change
a last digit. So there is one, unless the environment says otherwise; NumPy asks when it is imported.
"""

import os

__version__ = "0.5.1"
os.environ.setdefault("OPENBLAS_NUM_THREADS", "1")
