"""Stage 4: the pieces, one file each."""
# SPDX-License-Identifier: Apache-2.0
