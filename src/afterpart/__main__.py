"""`python -m afterpart`."""
# SPDX-License-Identifier: Apache-2.0
from afterpart.cli import main

if __name__ == "__main__":
    main()
