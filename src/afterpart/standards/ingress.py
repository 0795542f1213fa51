"""What an enclosure lets in, by the degrees of protection that standards name.

Limits: from memory; the degrees are told of whole enclosures.  Here they only lend their sizes and angles: no printed cover with
an inlet is claimed to have a degree of protection.
"""
# SPDX-License-Identifier: Apache-2.0
from __future__ import annotations

from afterpart.sources import Source

INGRESS_SOURCE = Source("IEC 60529 Degrees of protection provided by enclosures (IP code)",
                        place="first numeral 2: spheres of 12.5 mm; second numeral 3: spray up to 60 degrees from the vertical",
                        from_memory=True)

STONE_SPHERE = 12.5
"""A sphere of this diameter must not enter (first numeral 2), mm (INGRESS_SOURCE)."""

SPRAY_REACH_DEG = 60.0
"""Spray falls up to this far from the vertical (second numeral 3), degrees (INGRESS_SOURCE)."""
