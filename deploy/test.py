"""Set up a checkout and run its tests: python3 deploy/test.py [arguments of pytest].

Makes the environment and installs the pinned dependencies, the tests' own too, if that has not been
done yet. This file keeps to what an old Python can read, so that it can say which one is needed.
"""

import sys

if sys.version_info < (3, 11):
    sys.exit(
        "holdtrue needs Python 3.11 or newer; this is Python %s (%s).\n"
        "Install a newer one from python.org or your system's packages and run it by its name,\n"
        "for example: python3.12 deploy/test.py" % (sys.version.split()[0], sys.executable)
    )

import environment

if __name__ == "__main__":
    environment.run(environment.test, sys.argv[1:])
