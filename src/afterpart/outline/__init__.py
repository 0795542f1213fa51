"""Stage 3: rims in, drawing out."""
# SPDX-License-Identifier: Apache-2.0
