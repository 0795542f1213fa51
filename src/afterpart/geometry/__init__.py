"""Plane mathematics; knows no photos and imports only the leaves and model."""
# SPDX-License-Identifier: Apache-2.0
