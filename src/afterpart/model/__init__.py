"""Frozen nouns that travel between the stages.  No work is done here."""
# SPDX-License-Identifier: Apache-2.0
