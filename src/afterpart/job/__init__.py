"""Stage 1: the job file, read and checked."""
# SPDX-License-Identifier: Apache-2.0
