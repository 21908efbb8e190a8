"""Start holdtrue from a checkout: python3 deploy/start.py [arguments of "holdtrue serve"].

Makes the environment and installs the pinned dependencies if that has not been done yet.
This file keeps to what an old Python can read, so that it can say which one is needed.
"""

import sys

if sys.version_info < (3, 11):
    sys.exit(
        "holdtrue needs Python 3.11 or newer; this is Python %s (%s).\n"
        "Install a newer one from python.org or your system's packages and run it by its name,\n"
        "for example: python3.12 deploy/start.py" % (sys.version.split()[0], sys.executable)
    )

import environment

if __name__ == "__main__":
    environment.run(environment.serve, sys.argv[1:])
