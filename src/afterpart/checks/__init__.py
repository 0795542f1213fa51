"""Stage 5: what was built is judged, one small function for each check."""
# SPDX-License-Identifier: Apache-2.0
