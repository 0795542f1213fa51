"""Stage 2: pixels and a length reference in, rims in mm out.  The only room that knows OpenCV and Pillow."""
# SPDX-License-Identifier: Apache-2.0
