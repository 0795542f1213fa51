"""The only room that knows the solid kernel."""
# SPDX-License-Identifier: Apache-2.0
