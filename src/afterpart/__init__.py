"""afterpart: from one phone photograph of a flat part to a proven, printable replacement."""
# SPDX-License-Identifier: Apache-2.0
__version__ = "0.1.0"
