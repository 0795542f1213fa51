"""What the page may ask for, one file a station; each route reads its request and answers, nothing else."""
# SPDX-License-Identifier: Apache-2.0
