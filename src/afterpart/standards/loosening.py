"""Bolts that work loose: what is known of it, as figures.

Words: *slip* is the cover moving across its bolts under a *transverse load*; a bolt whose joint slips to and fro turns itself
loose; *retention* is what keeps a bolt from turning or from falling out once it has lost its load.
Limits: how many strokes a bolt stands is found on a test machine only; nothing here tells it.
"""
# SPDX-License-Identifier: Apache-2.0
from __future__ import annotations

from afterpart.sources import Source
from afterpart.standards.table import Range

JUNKER_SOURCE = Source("G. H. Junker, New criteria for self-loosening of fasteners under vibration, SAE paper 690055", "1969",
                       "slip across the bolt turns it loose", from_memory=True)
TEST_SOURCE = Source("Lock washer maker's page on the transverse vibration test (DIN 65151, DIN 25201-4, ISO 16130)",
                     place="passed from 80 % of the preload on, 12 verification tests")
SLIP_SOURCE = Source("VDI 2230 part 1, Systematic calculation of highly stressed bolted joints",
                     place="safety against slip under alternating load", from_memory=True)
FACE_SOURCE = Source("Usual coefficients of friction of plastic, oily to dry, on a metal face", from_memory=True)

FACE_FRICTION = Range(0.10, 0.30)
"""Between the cover's face and the machine's (FACE_SOURCE)."""

SLIP_RESERVE = 1.8
"""Friction held over load across, where the load goes to and fro (SLIP_SOURCE)."""

PASSED_SHARE = 0.80
"""Preload that must be left after the strokes of the test (TEST_SOURCE)."""

VERIFICATION_TESTS = 12
"""Bolts tested for a verification (TEST_SOURCE)."""
