"""Published tables as data, each with its source."""
# SPDX-License-Identifier: Apache-2.0
