"""Stage 6: one file per format."""
# SPDX-License-Identifier: Apache-2.0
