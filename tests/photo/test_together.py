"""The joint adjustment on views made by projecting a known part and sheet: no picture, no edge finding, truth in closed form.

Reference: the projection of afterpart.model.camera itself; heights, cameras and depths are given, so what is recovered is known.
"""
# SPDX-License-Identifier: Apache-2.0
from __future__ import annotations

from dataclasses import replace

import numpy as np
import pytest

from afterpart.model.camera import Camera
from afterpart.model.edges import EdgeMap, Reference, Rim
from afterpart.photo.adjust import FocalPrior, Observations, overhead_camera, stepped
from afterpart.photo.contradicting import misfits, moved_between, shift_left, worst_of
from afterpart.photo.otherface import lay_other_face
from afterpart.photo.pooled import Seen, laid_again, match_rims, pool_rims, tie_views
from afterpart.photo.pose import Pose
from afterpart.photo.projection import project_plane, to_plane
from afterpart.photo.rimchain import outward_normals
from afterpart.photo.rimmatch import foot_share
from afterpart.photo.roundrim import circle_chain
from afterpart.photo.secondshot import second_shot, standing
from afterpart.photo.several import Joint
from afterpart.photo.together import (
    HeightPrior,
    View,
    adjust_together,
    expected_height_u,
    into_drawing,
    into_world,
    turned,
    turned_camera,
    unturned,
)

SHAPE = (3024, 4032)
FOCAL = 8600.0
HEIGHT = 9.0
HALF = np.array([148.5, 105.0])


def camera_at(x: float, y: float, z: float) -> Camera:
    """A camera at (x, y, z) that looks at the table's origin, its top towards y."""
    back = np.array([x, y, z]) / np.linalg.norm([x, y, z])
    right = np.cross([0.0, 1.0, 0.0], back)
    right /= np.linalg.norm(right)
    rows = np.stack([right, np.cross(-back, right), -back])
    start = overhead_camera(SHAPE, FOCAL, 1.0)
    return replace(start, rotation=tuple(map(tuple, rows.tolist())), position=(x, y, z))  # type: ignore[arg-type]


def sheet_seen(camera: Camera, rng: np.random.Generator, noise_px: float = 0.05) -> Observations:
    """A sheet's four sides as the camera sees them, as sheetpose.py tells them."""
    t = np.linspace(-0.95, 0.95, 60)
    sides = [np.c_[t * HALF[0], np.full(60, -HALF[1])], np.c_[np.full(60, HALF[0]), t * HALF[1]],
             np.c_[t * HALF[0], np.full(60, HALF[1])], np.c_[np.full(60, -HALF[0]), t * HALF[1]]]
    px = project_plane(camera, np.concatenate(sides), 0.0)
    which = np.repeat(np.arange(4), 60)

    def residual(xy: np.ndarray, unknown: np.ndarray) -> np.ndarray:
        w, h = 2 * HALF + unknown
        along = np.where(which % 2 == 0, xy[:, 1], xy[:, 0])
        # on the sheet itself: in plain mm a smaller sheet would seem to fit better (see sheetpose.py)
        return (along - np.choose(which, [-h / 2, w / 2, h / 2, -w / 2])) / np.mean([w / 2 / HALF[0], h / 2 / HALF[1]])

    return Observations("sheet", 0.0, px + rng.normal(0, noise_px, px.shape), (0.0, 0.0), (0.7, 0.7), residual, 0.01)


def outline_points() -> np.ndarray:
    """A lopsided outline, counter-clockwise, evenly spaced about 0.3 mm apart, that fits itself one way only."""
    angle = np.linspace(0, 2 * np.pi, 1200, endpoint=False)
    radius = 55 + 8 * np.cos(angle) + 5 * np.cos(2 * angle + 0.7) + 2 * np.sin(5 * angle)
    return np.stack([radius * np.cos(angle) - 4, radius * np.sin(angle) + 3], 1)


HOLES = ((-30.0, -10.0, 3.0), (28.0, -14.0, 3.0), (6.0, 30.0, 4.5))


def rims_at(points_of: np.ndarray, noise: float, rng: np.random.Generator) -> tuple[Rim, ...]:
    """The part's rims where `points_of` (a motion of the drawing into the world, 2 x 3) puts them."""
    def moved(points: np.ndarray) -> np.ndarray:
        return points @ points_of[:, :2].T + points_of[:, 2]

    outer = outline_points()
    along = rng.normal(0, noise, len(outer))
    normals = np.c_[np.gradient(outer[:, 1]), -np.gradient(outer[:, 0])]
    normals /= np.hypot(*normals.T)[:, None]
    out = [Rim("outer", 1, moved(outer + along[:, None] * normals), np.full(len(outer), 0.01))]
    for x, y, r in HOLES:
        centre = np.array([x, y]) + rng.normal(0, noise, 2)
        out.append(Rim("opening", 1, moved(circle_chain(centre, r + rng.normal(0, noise), 120, True)), np.full(120, 0.01)))
    return tuple(out)


STILL = np.array([[1.0, 0, 0], [0, 1.0, 0]])
STANDS = ((40.0, 20.0, 760.0), (-260.0, 120.0, 700.0), (60.0, -300.0, 690.0))
MORE_STANDS = ((200.0, 150.0, 720.0), (-120.0, -180.0, 740.0), (10.0, 240.0, 705.0))


def seen_from(camera: Camera, traced_at: float, noise: float, seed: int,
              motion: np.ndarray = STILL) -> tuple[EdgeMap, Observations]:
    """What tracing finds when it takes the face to be at `traced_at` while it is at HEIGHT, and the sheet."""
    rng = np.random.default_rng([7, seed])
    true = EdgeMap("mm", rims_at(motion, noise, rng), Reference("sheet", 11.0, 1e-4), camera, HEIGHT, 0.4)
    laid = laid_again(Seen(true, 0, (0.0, 0.0, 0.0)), camera, traced_at, (0.0, 0.0, 0.0))
    return laid.edges, sheet_seen(camera, rng)


def joint_of(edges: list[EdgeMap], sheets: list[Observations], layings: list[int] | None = None,
             start: dict[int, tuple[float, float, float]] | None = None, prior: HeightPrior | None = None,
             rounding_u: float = 0.0) -> Joint:
    """The views adjusted together; layings: which was taken without moving anything (all of them when left out)."""
    layings = layings or [0] * len(edges)
    motions = [(start or {}).get(k, (0.0, 0.0, 0.0)) for k in range(len(edges))]
    seen = [Seen(e, 0, m) for e, m in zip(edges, motions, strict=True)]
    matched = match_rims(seen, 0)
    drawing, ties = tie_views(seen, matched)
    views = [View(e.camera, (s,), FocalPrior(FOCAL, 0.005), 0, 0, laying, "mating", m, t, rounding_u)  # type: ignore[arg-type]
             for e, s, laying, m, t in zip(edges, sheets, layings, motions, ties, strict=True)]
    priors = (prior or HeightPrior("mating", 0.0, 50.0),)
    together = adjust_together(views, drawing, priors, {"mating": edges[0].face_height})
    return Joint(together, {}, tuple(views), drawing, priors)


@pytest.mark.parametrize("traced_at", [9.0, 8.0, 6.5])
def test_two_looks_tell_the_height_whatever_it_was_taken_for(traced_at: float) -> None:
    """Traced for another height and, as the passes over the pictures do, once more for the height found."""
    for allowed in (0.15, 0.03):
        found = [seen_from(camera_at(*stand), traced_at, 0.0, k) for k, stand in enumerate(STANDS[:2])]
        joint = joint_of([e for e, _ in found], [s for _, s in found])
        traced_at = joint.together.heights["mating"]
        assert traced_at == pytest.approx(HEIGHT, abs=allowed)


def test_feet_of_walls_stand_on_the_table_whatever_height_was_supposed() -> None:
    """A rim laid anew for a face 0.5 mm higher: where the wall is seen its foot stays, so that the place moves by slope times 0.5
    in the face's plane; where the face hides the wall it is what is seen that stays.  Truth: similar triangles."""
    camera, other = camera_at(*STANDS[1]), HEIGHT + 0.5
    rim = rims_at(STILL, 0.0, np.random.default_rng(1))[0]
    edges = EdgeMap("mm", (rim,), Reference("sheet", 11.0, 1e-4), camera, HEIGHT, 0.4)
    laid = laid_again(Seen(edges, 0, (0.0, 0.0, 0.0)), camera, other, (0.0, 0.0, 0.0)).edges.rims[0].points
    normals = outward_normals(rim.points, 3.0)
    strip = ((np.array(camera.position[:2]) - rim.points) * normals).sum(1) / (camera.position[2] - HEIGHT) * HEIGHT
    px = (camera.position[2] - HEIGHT) / camera.focal_px
    wall, hidden = strip > 2.1 * px, strip < 0.0
    assert wall.sum() > 300 and hidden.sum() > 300
    assert np.hypot(*(laid - rim.points)[wall].T).max() < 1e-6
    same = to_plane(camera, project_plane(camera, rim.points[hidden], HEIGHT), other)
    assert np.hypot(*(laid[hidden] - same).T).max() < 1e-9


def test_shades_before_all_feet_are_told_from_the_height() -> None:
    """Feet of all walls 0.06 mm too far out, as a shade makes them: an unknown of their own, and the height hardly moves."""
    found = []
    for k, stand in enumerate(STANDS):
        edges, sheet = seen_from(camera_at(*stand), HEIGHT, 0.0, k)
        rims = []
        for rim in edges.rims:
            share = foot_share(edges, rim.points, rim, np.arange(len(rim.points)))
            rims.append(replace(rim, points=rim.points + (0.06 * share)[:, None] * outward_normals(rim.points, 3.0)))
        found.append((replace(edges, rims=tuple(rims)), sheet))
    together = joint_of([e for e, _ in found], [s for _, s in found]).together
    assert together.values[together.layout.feet["mating"]] == pytest.approx(0.06, abs=0.02)
    assert together.heights["mating"] == pytest.approx(HEIGHT, abs=0.05)
    assert abs(together.heights["mating"] - HEIGHT) < together.heights_u["mating"]


def test_stated_uncertainty_of_heights_holds() -> None:
    z = []
    for seed in range(12):
        found = [seen_from(camera_at(*stand), 8.7, 0.01, 50 * seed + k) for k, stand in enumerate(STANDS)]
        together = joint_of([e for e, _ in found], [s for _, s in found]).together
        z.append((together.heights["mating"] - HEIGHT) / together.heights_u["mating"])
    # whole-rim scatter of 0.01 mm is far below what is allowed for: the statement must hold, and not be wildly wide
    assert abs(np.mean(z)) < 0.5 and np.mean(np.abs(z) < 2) >= 0.95 and np.std(z) > 0.02


def test_what_a_rounding_taken_wrongly_does_to_a_height_is_in_its_uncertainty() -> None:
    """Edges 0.15 mm rounder than they were traced for: every view sees the far sides too near, and the height is off by just what
    its uncertainty grows by when the rounding may be off by so much.  Truth: the line of sight that touches the rounding."""
    rounder, found = 0.15, []
    for k, stand in enumerate(STANDS):
        edges, sheet = seen_from(camera_at(*stand), HEIGHT, 0.0, k)
        rims = []
        for rim in edges.rims:
            normals = outward_normals(rim.points, 3.0)
            away = ((rim.points - stand[:2]) * normals).sum(1) / (stand[2] - HEIGHT)
            lean = np.linspace(0.0, np.pi / 2, 20001)
            # where lines of sight past the rounding's points cross the face's plane; the one farthest out is the last seen
            last = [float((np.sin(lean) - 1 - m * (1 - np.cos(lean))).max()) if m > 0 else 0.0 for m in away[::8]]
            hidden = np.interp(np.arange(len(away)), np.arange(0, len(away), 8), last, period=len(away))
            rims.append(replace(rim, points=rim.points + (rounder * hidden)[:, None] * normals))
        found.append((replace(edges, rims=tuple(rims)), sheet))
    heights = []
    for u in (0.0, rounder):
        joint = joint_of([e for e, _ in found], [s for _, s in found], rounding_u=u)
        heights.append((joint.together.heights["mating"], joint.together.heights_u["mating"]))
        assert sum(root @ root.T for _, _, root in joint.together.parts) == pytest.approx(joint.together.covariance, rel=1e-3,
                                                                                          abs=1e-9)
    (known, known_u), (doubted, doubted_u) = heights
    assert doubted == pytest.approx(known, abs=1e-9)
    assert np.sqrt(doubted_u**2 - known_u**2) == pytest.approx(abs(known - HEIGHT), rel=0.1)
    assert abs(known - HEIGHT) > 0.03


def test_a_part_that_was_moved_tells_its_height_by_its_walls_alone() -> None:
    """Nothing is triangulated between two layings; a wall's foot beside the face's far edge in each picture tells something."""
    c, s = np.cos(0.4), np.sin(0.4)
    motion = np.array([[c, -s, 12.0], [s, c, -7.0]])
    first = seen_from(camera_at(*STANDS[0]), HEIGHT, 0.0, 1)
    moved = seen_from(camera_at(*STANDS[1]), HEIGHT, 0.0, 2, motion)
    at = {1: (12.1, -7.05, 0.401)}
    joint = joint_of([first[0], moved[0]], [first[1], moved[1]], [0, 1], at)
    assert joint.together.heights_u["mating"] > 2 * joint_still_u()
    joint = joint_of([first[0], moved[0]], [first[1], moved[1]], [0, 1], at, HeightPrior("mating", HEIGHT, 0.01))
    assert joint.together.views[1].motion == pytest.approx((12.0, -7.0, 0.4), abs=0.05)


def joint_still_u() -> float:
    """Height's uncertainty when the same two photographs are taken without moving anything."""
    found = [seen_from(camera_at(*stand), HEIGHT, 0.0, k) for k, stand in enumerate(STANDS[:2])]
    return joint_of([e for e, _ in found], [s for _, s in found]).together.heights_u["mating"]


def test_a_calliper_height_is_a_reading_among_others() -> None:
    found = [seen_from(camera_at(*stand), HEIGHT, 0.0, k) for k, stand in enumerate(STANDS[:2])]
    edges, sheets = [e for e, _ in found], [s for _, s in found]
    alone = joint_of(edges, sheets).together
    told = joint_of(edges, sheets, prior=HeightPrior("mating", HEIGHT + 0.1, 0.1)).together
    u, v = alone.heights_u["mating"], 0.1
    assert told.heights_u["mating"] == pytest.approx((1 / u**2 + 1 / v**2) ** -0.5, rel=0.02)
    mean = (alone.heights["mating"] / u**2 + (HEIGHT + 0.1) / v**2) / (1 / u**2 + 1 / v**2)
    assert told.heights["mating"] == pytest.approx(mean, abs=0.01)


def test_parts_of_the_covariance_add_up() -> None:
    found = [seen_from(camera_at(*stand), HEIGHT, 0.005, k) for k, stand in enumerate(STANDS)]
    together = joint_of([e for e, _ in found], [s for _, s in found]).together
    total = sum(root @ root.T for _, _, root in together.parts)
    at = [together.layout.heights["mating"], *together.layout.poses[0]]
    assert np.allclose(total[np.ix_(at, at)], together.covariance[np.ix_(at, at)], rtol=1e-3, atol=1e-12)


def test_a_longer_base_line_is_predicted_to_tell_more() -> None:
    def u_with(stand: tuple[float, float, float]) -> float:
        found = [seen_from(camera_at(*place), HEIGHT, 0.0, k) for k, place in enumerate((STANDS[0], stand))]
        joint = joint_of([e for e, _ in found], [s for _, s in found])
        return expected_height_u(joint.started, joint.drawing, joint.priors, {"mating": HEIGHT})["mating"]
    assert u_with((-260.0, 20.0, 710.0)) < 0.6 * u_with((20.0, 20.0, 760.0))


def test_pooled_rims_are_nearer_to_the_truth_than_the_single_ones() -> None:
    found = [seen_from(camera_at(*stand), HEIGHT, 0.02, k) for k, stand in enumerate(STANDS)]
    edges = [replace(e, camera=camera_at(*STANDS[0])) for e, _ in found]
    seen = [Seen(e, 0, (0.0, 0.0, 0.0)) for e in edges]
    pooled = pool_rims(seen, match_rims(seen, 0)).rims

    def off(rim: Rim) -> float:
        angle = np.arctan2(rim.points[:, 1] - 3, rim.points[:, 0] + 4)
        radius = 55 + 8 * np.cos(angle) + 5 * np.cos(2 * angle + 0.7) + 2 * np.sin(5 * angle)
        return float(np.std(np.hypot(rim.points[:, 1] - 3, rim.points[:, 0] + 4) - radius))
    assert off(pooled[0]) < off(edges[0].rims[0]) / 1.5


@pytest.mark.parametrize("stands", [STANDS, (*STANDS, *MORE_STANDS)], ids=["of three", "of six"])
def test_the_photograph_with_a_wrong_reference_is_named(stands: tuple[tuple[float, float, float], ...]) -> None:
    found = [seen_from(camera_at(*stand), HEIGHT, 0.005, k) for k, stand in enumerate(stands)]
    # a gauge, not paper: of a sheet alone so much would not be said
    edges, sheets = [e for e, _ in found], [replace(s, name="target") for _, s in found]
    good = joint_of(edges, sheets)
    assert worst_of(misfits(good, good.started)) is None
    # the third photograph's reference was told 0.8 % too long: its camera stands that much farther away
    camera = edges[2].camera
    assert camera is not None
    wrong = replace(camera, position=tuple(1.008 * v for v in camera.position))  # type: ignore[arg-type]
    spoilt = [*edges[:2], laid_again(Seen(edges[2], 0, (0.0, 0.0, 0.0)), wrong, HEIGHT, (0.0, 0.0, 0.0)).edges, *edges[3:]]
    joint = joint_of(spoilt, sheets)
    alone = [replace(view, camera=e.camera) for view, e in zip(joint.started, spoilt, strict=True)]  # type: ignore[arg-type]
    found_wrong = misfits(joint, alone)
    assert worst_of(found_wrong) == 2
    assert found_wrong[2].growth == pytest.approx(0.008, abs=0.002) and "too large" in found_wrong[2].words()


@pytest.mark.parametrize("larger", [1.0, 1.001, 0.9985])
@pytest.mark.parametrize("growth", [0.0, 0.12])
def test_the_other_face_is_laid_on_the_drawn_one(growth: float, larger: float) -> None:
    """By shift, turn, the walls' lean and the size that another sheet, or the same by other corners, gave it."""
    rng = np.random.default_rng(3)
    drawn = rims_at(STILL, 0.003, rng)
    c, s = np.cos(2.1), np.sin(2.1)
    over = []
    for rim in drawn:
        middle = rim.points.mean(axis=0)
        n = np.c_[np.roll(rim.points[:, 1], -1) - np.roll(rim.points[:, 1], 1), np.roll(rim.points[:, 0], 1)
                  - np.roll(rim.points[:, 0], -1)]
        n /= np.hypot(*n.T)[:, None]
        assert np.isfinite(middle).all()
        mirrored = (rim.points + growth * n) * np.array([-1.0, 1.0])
        over.append(replace(rim, points=(larger * mirrored @ np.array([[c, s], [-s, c]]) + [31.0, -18.0])[::-1]))
    laid = lay_other_face(drawn, over, HEIGHT)
    assert laid is not None
    for rim, back in zip(drawn[1:], laid.rims[1:], strict=True):
        assert np.hypot(*(rim.points.mean(0) - back.points.mean(0))) < 0.005
    assert np.tan(np.radians(laid.draft_deg)) * HEIGHT == pytest.approx(growth, abs=0.01)
    assert laid.growth == pytest.approx(1.0 / larger, abs=1e-4)
    for rim, own in zip(laid.rims, over, strict=True):
        there = own.points[::-1] * np.array([-1.0, 1.0])
        turn = np.radians(laid.turn_deg)
        matrix = laid.growth * np.array([[np.cos(turn), -np.sin(turn)], [np.sin(turn), np.cos(turn)]])
        assert np.allclose(there @ matrix.T + laid.shift, rim.points, atol=1e-9)


def test_motions_and_quarter_turns_have_their_way_back() -> None:
    points = np.random.default_rng(1).normal(0, 30, (20, 2))
    assert np.allclose(into_world(into_drawing(points, (3.0, -2.0, 0.7)), (3.0, -2.0, 0.7)), points)
    assert np.allclose(unturned(turned(points, 3), 3), points) and np.allclose(turned(points, 4), points)
    camera = stepped(camera_at(*STANDS[1]), np.array([0, 0.01, 0, 0.01, 0.02, -0.01, 1.0, 2.0, 3.0]))
    assert np.allclose(project_plane(turned_camera(camera, 1), turned(points, 1), 5.0), project_plane(camera, points, 5.0))


def test_a_part_nudged_between_two_photographs_is_noticed() -> None:
    first = seen_from(camera_at(*STANDS[0]), HEIGHT, 0.0, 1)
    second = seen_from(camera_at(*STANDS[1]), HEIGHT, 0.0, 2)
    third = seen_from(camera_at(*STANDS[2]), HEIGHT, 0.0, 3, np.array([[1.0, 0, 0.4], [0, 1.0, 0.3]]))
    still = joint_of([first[0], second[0]], [first[1], second[1]])
    assert moved_between(still, misfits(still, still.started)) == []
    joint = joint_of([first[0], second[0], third[0]], [first[1], second[1], third[1]])
    alone = [replace(view, camera=e.camera) for view, e in zip(joint.started, (first[0], second[0], third[0]), strict=True)]
    assert moved_between(joint, misfits(joint, alone)) == [0, 1, 2], "one of them was, and each is to be tried"
    motion = {2: (0.4, 0.3, 0.0)}
    left = {}
    for number in range(3):
        layings = [9 if k == number else 0 for k in range(3)]
        apart = joint_of([first[0], second[0], third[0]], [first[1], second[1], third[1]], layings,
                         motion if number == 2 else None)
        left[number] = shift_left(apart, misfits(apart, [replace(a, laying=m) for a, m in zip(alone, layings, strict=True)]))
    assert min(left, key=lambda number: left[number]) == 2 and left[2] < 0.15


def test_the_advice_for_the_next_photograph_is_what_that_photograph_then_gives() -> None:
    edges, sheet = seen_from(camera_at(*STANDS[0]), HEIGHT, 0.0, 1)
    assert edges.camera is not None
    pose = Pose(edges.camera, "mm", "sheet", 1e-4, (sheet,), FocalPrior(FOCAL, 0.005), True)
    advice = second_shot(edges, pose)
    assert advice is not None and "without a calliper" in advice.words()
    middle = edges.rims[0].points.mean(axis=0)
    camera = standing(edges.camera, middle, HEIGHT, advice.bearing_deg, advice.tilt_deg, advice.distance)
    assert np.degrees(np.arccos(-camera.rotation[2][2])) == pytest.approx(advice.tilt_deg, abs=1e-6)
    there = seen_from(camera, HEIGHT, 0.0, 2)
    told = joint_of([edges, there[0]], [sheet, there[1]]).together.heights_u["mating"]
    assert advice.height_u == pytest.approx(told, rel=0.35)
    assert second_shot(edges, replace(pose, kind="rule")) is None, "a rule does not say where the part lies"
