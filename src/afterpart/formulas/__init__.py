"""Engineering formulas shared by parts and checks."""
# SPDX-License-Identifier: Apache-2.0
