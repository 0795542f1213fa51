"""The tables about the machine, its surroundings and other people's machines: what the checks need beyond the pieces.

Keys are named as the fields of their nouns in model/wishes.py.  Nothing here is filled in silently: what is left out is not
known, and a check that needs it says so.  Field descriptions are the wording of the job file's documentation.
"""
# SPDX-License-Identifier: Apache-2.0
from __future__ import annotations

from typing import Literal

from pydantic import Field, model_validator

from afterpart.errors import UsageError
from afterpart.job.typed import Keys, defaults_of
from afterpart.model.wishes import FailureRow, FitWish, MachineFacts, ServiceFacts

Media = Literal["fuel", "oil", "water", "food", "mains", "brake"]
Place = Literal["", "bench", "outdoors", "in a housing", "near a motor", "near an engine", "on an exhaust side"]
Exposure = Literal["moisture", "oil", "fuel", "uv", "spray", "stones"]
ToleranceGroup = Literal["TG1", "TG2", "TG3", "TG4", "TG5", "TG6", "TG7", "TG8", "TG9"]
"""Groups of DIN 16742; standards/tolerances.py knows their values."""

_row = defaults_of(FailureRow)
_machine, _service, _fit = defaults_of(MachineFacts), defaults_of(ServiceFacts), defaults_of(FitWish)


class MachineKeys(Keys):
    """`[machine]`."""

    kind: str = _machine("kind", "what it is: compressor, pump, engine two-stroke, engine four-stroke, vacuum, blower ...",
                         max_length=60)
    displacement_cm3: float | None = _machine(
        "displacement_cm3", "swept volume of a turn of the pump, or of an engine, cm3; left out: not known", gt=0, le=100_000)
    speed_rpm: float | None = _machine("speed_rpm", "highest speed, turns a minute; left out: not known", gt=0, le=200_000)
    volumetric_efficiency: float = _machine(
        "volumetric_efficiency", "share of the swept volume that is really drawn in", gt=0, le=1.5)
    flow_m3_per_h: float | None = _machine("flow_m3_per_h", "air it draws, where that is known itself, m3/h", gt=0, le=100_000)
    single_cylinder: bool = _machine("single_cylinder", "true: one cylinder, so that its flow comes in pulses")
    restriction_limit_pa: float | None = _machine(
        "restriction_limit_pa", "most pressure its inlet may cost, Pa; left out: not known", gt=0, le=100_000)
    gauge_pressure_kpa: float | None = _machine(
        "gauge_pressure_kpa", "pressure the seal holds back, kPa above that outside; left out: not known", ge=-101, le=100_000)
    swallows: bool | None = _machine(
        "swallows", "true: what comes loose behind the cover gets into moving parts; left out: not known")
    media: list[Media] = Field(
        default_factory=list, description="what is about it: fuel, oil, water, food, mains, brake")
    face_material: str = _machine("face_material", "of the machine's face under the bolts", min_length=1, max_length=60)
    clean_port: float | None = _machine(
        "clean_port", "smallest width of the way from behind the cover into the moving parts, mm; left out: not known",
        gt=0, le=1000)


class ServiceKeys(Keys):
    """`[service]`."""

    temperature_c: float | None = _service(
        "temperature_c", "of the part in service, measured, degrees Celsius; left out: by the place", ge=-60, le=300)
    place: Place = _service("place", "bench, outdoors, in a housing, near a motor, near an engine, on an exhaust side: stands in "
                            "for a temperature that was not measured")
    exposed: list[Exposure] = Field(
        default_factory=list, description="what it is exposed to: moisture, oil, fuel, uv, spray, stones")
    hours: float | None = _service("hours", "of service a year; left out: not known", gt=0, le=8784)
    tested_hours: float = _service("tested_hours", "hours it has been tried so far", ge=0, le=1_000_000)
    tested_machines: int = _service("tested_machines", "on how many machines it has been tried", ge=0, le=1_000_000)
    inlet_facing_deg: float | None = _service(
        "inlet_facing_deg", "how far the inlet's outside is turned from straight down, degrees: 0 down, 90 sideways, 180 up; "
        "left out: not known", ge=0, le=180)

    @model_validator(mode="after")
    def _together(self) -> ServiceKeys:
        if self.tested_hours and not self.tested_machines:
            raise UsageError(f"tested_machines: found 0 with {self.tested_hours:g} tested hours, expected at least 1. "
                             "Give both.")
        return self


class FitKeys(Keys):
    """`[fit]`."""

    wanted_share: float = _fit("wanted_share", "share of other people's machines that the part shall fit", gt=0, lt=1)
    mate_group: ToleranceGroup = _fit("mate_group", "tolerance group of the mating moulding (DIN 16742), TG1 to TG9")
    tool_specific: bool = _fit("tool_specific", "true: both mating features lie in one half of the mould")
    printer_u: float = _fit("printer_u", "standard deviation of your printer on such sizes, mm", gt=0, le=2)
    temperature_span_c: float = _fit(
        "temperature_span_c", "between fitting it and its hottest or coldest service, kelvin", ge=0, le=300)
    draws: int = _fit("draws", "draws of the simulation", ge=1000, le=10_000_000)
    seed: int = _fit("seed", "of the simulation: the same seed gives the same figures", ge=0, le=2_000_000_000)


class FailureKeys(Keys):
    """One `[[failure_mode]]`."""

    item: str = Field(min_length=1, description="what fails, as the table of failure modes calls it, or something new")
    mode: str = Field(min_length=1, description="how it fails, as the table calls it, or something new")
    effect: str = _row("effect", "what that does; left out: as the table says")
    cause: str = _row("cause", "what it comes from; left out: as the table says")
    today: str = _row("today", "what holds it today; left out: as the table says")
    severity: int | None = _row("severity", "1 to 10, 10 worst; a new row needs it", ge=1, le=10)
    occurrence: int | None = _row("occurrence", "1 never to 10 always; a new row needs it", ge=1, le=10)
    detection: int | None = _row("detection", "1 seen at once to 10 never seen; a new row needs it", ge=1, le=10)
