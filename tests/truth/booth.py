"""The photo booth: photographs of known parts, computed in numpy.

Words: a *scene* is the parts, the reference and the light on a table, with the camera over it; to *develop* is to turn light
into picture values: blur, noise, sharpening, tone, compression.  World and pixel frames are those of afterpart.model.camera.
Every pixel is one ray, or a raster of rays where an edge or a mark crosses it; the ray is followed down to the face, the rounded
rim, the wall or the table; a whole tile of rays that ends on something flat (tiles.py) is painted at once.  Geometry is exact;
shading (light.py) is a plausible likeness, not a simulation.
Work goes in batches small enough for a processor's own memory; the picture does not depend on their size.
Limits: flat table, perfect focus over its whole depth, bodies that do not overlap, no reflections, sheet without thickness.
"""
# SPDX-License-Identifier: Apache-2.0
from __future__ import annotations

import copy
import math
from dataclasses import dataclass, field
from functools import lru_cache
from pathlib import Path

import cv2
import numpy as np
from PIL import Image
from scipy import ndimage

from afterpart.model.camera import Camera
from afterpart.units import SMALL_FORMAT_WIDTH
from tests.truth.bodies import FACE, ROUND, WALL, Body, meet
from tests.truth.drawings import Drawing
from tests.truth.field import between_nodes, walk
from tests.truth.light import Light, LightMap, light_map
from tests.truth.pockets import shade_pockets, sink
from tests.truth.scenery import Calliper, Rule, Sheet
from tests.truth.tiles import ACROSS, DARK, FLAT, MET, OFF_SHEET, ON_SHEET, PRINTED, SIDE, Tiles, on_sheet, states_of
from tests.truth.trench import channel_light

TILE_BATCH = 64
RASTER_BATCH = 1500
DEVELOP_ROWS = 16
REACH = 15.0
RASTER = 4
EXIF_SUBFILE = 0x8769
EXIF_FOCAL_LENGTH, EXIF_FOCAL_35MM, EXIF_ORIENTATION = 0x920A, 0xA405, 0x0112


@dataclass(frozen=True)
class Develop:
    """From light to picture values.

    blur_px: standard deviation of the lens' blur; noise: grain, 0.04 gives about 3 of 255 grey levels; sharpen: strength of an
    unsharp mask of sharpen_px (it leaves a halo on both sides of an edge, as phones do); exposure: linear value of a surface of
    albedo 1; vignette: loss at the corners; quality: of the JPEG.
    """

    blur_px: float = 0.8
    noise: float = 0.04
    sharpen: float = 0.4
    exposure: float = 0.80
    vignette: float = 0.12
    quality: int = 92
    sharpen_px: float = 1.0


@dataclass(frozen=True)
class Scene:
    """camera: as it stands over the table; parts: bodies to be measured, the largest first; f35: what the file will say of the
    35 mm equivalent focal length, None for silence; desk: "wood" | "plain" | "dark"."""

    camera: Camera
    parts: tuple[Body, ...]
    sheet: Sheet | None = None
    rule: Rule | None = None
    calliper: Calliper | None = None
    desk: str = "wood"
    light: Light = field(default_factory=Light)
    develop: Develop = field(default_factory=Develop)
    f35: float | None = 77.0


@dataclass(frozen=True)
class Photo:
    """image: (h, w, 3) uint8, upright; truth: what the scene was, in the form of the photographs' truth files."""

    image: np.ndarray
    truth: dict
    scene: Scene


def stand_camera(size: tuple[int, int] = (4032, 3024), f35: float = 77.0, distance: float = 760.0,
                 aim: tuple[float, float] = (0.0, 0.0), tilt_deg: float = 3.0, azimuth_deg: float = 40.0, roll_deg: float = 0.0,
                 k1: float = 0.004, k2: float = 0.0) -> Camera:
    """A camera that looks at the table point `aim` from `distance`, off the vertical by tilt_deg towards azimuth_deg."""
    t, a = math.radians(tilt_deg), math.radians(azimuth_deg)
    back = np.array([math.sin(t) * math.cos(a), math.sin(t) * math.sin(a), math.cos(t)])
    right = np.cross(-back, [0.0, 1.0, 0.0])
    right /= np.linalg.norm(right)
    down = np.cross(-back, right)
    c, s = math.cos(math.radians(roll_deg)), math.sin(math.radians(roll_deg))
    rows = (c * right + s * down, c * down - s * right, -back)
    position = np.array([aim[0], aim[1], 0.0]) + distance * back
    return Camera(size[0], size[1], f35 / SMALL_FORMAT_WIDTH * max(size), k1, k2,
                  tuple(tuple(float(v) for v in row) for row in rows), tuple(float(v) for v in position))


def project(camera: Camera, points: np.ndarray) -> np.ndarray:
    """World points (n, 3) to pixels (n, 2), after the definition in afterpart.model.camera."""
    inner = (np.asarray(points, float) - camera.position) @ np.array(camera.rotation).T
    xy = inner[:, :2] / inner[:, 2:] * camera.focal_px
    q = (xy ** 2).sum(1, keepdims=True) / (_half_diagonal(camera) ** 2)
    return xy * (1 + camera.k1 * q + camera.k2 * q * q) + (camera.width_px / 2, camera.height_px / 2)


def _half_diagonal(camera: Camera) -> float:
    return math.hypot(camera.width_px, camera.height_px) / 2


class _Rays:
    """Pixel to sloping ray: the lens undone by a polynomial in the squared radius, right to 1e-9 of the half diagonal."""

    def __init__(self, camera: Camera) -> None:
        self.camera, self.half = camera, _half_diagonal(camera)
        self.rotation = np.array(camera.rotation)
        reach = np.linspace(0, 1.5, 4000)
        bent = reach * (1 + camera.k1 * reach ** 2 + camera.k2 * reach ** 4)
        if np.any(np.diff(bent) <= 0):
            raise ValueError("this lens folds the picture over itself")
        inside = bent <= 1.02
        factor = np.divide(reach, bent, out=np.ones_like(reach), where=bent > 0)
        self.undo = np.polynomial.polynomial.polyfit(bent[inside] ** 2, factor[inside], 9)
        worst = np.abs(np.polynomial.polynomial.polyval(bent[inside] ** 2, self.undo) - factor[inside]).max()
        if worst > 1e-8:
            raise ValueError(f"the lens is undone only to {worst:.1e}")

    def slopes(self, u: np.ndarray, v: np.ndarray) -> tuple[np.ndarray, np.ndarray]:
        """Sideways travel on the table per mm of height of the rays through pixels (u, v)."""
        x, y = u - self.camera.width_px / 2, v - self.camera.height_px / 2
        if self.camera.k1 or self.camera.k2:
            q = (x * x + y * y) / self.half ** 2
            factor = np.full_like(q, self.undo[-1])
            for c in self.undo[-2::-1]:
                factor *= q
                factor += c
            x *= factor
            y *= factor
        r, f = self.rotation, self.camera.focal_px
        dz = r[0, 2] * x + r[1, 2] * y + r[2, 2] * f
        return (r[0, 0] * x + r[1, 0] * y + r[2, 0] * f) / dz, (r[0, 1] * x + r[1, 1] * y + r[2, 1] * f) / dz


def seen_at(camera: Camera, pixels: np.ndarray, height: float) -> np.ndarray:
    """Where the rays of pixels (n, 2) cross the plane z = height: (n, 2) world points."""
    sx, sy = _Rays(camera).slopes(pixels[:, 0].copy(), pixels[:, 1].copy())
    x, y, z = camera.position
    return np.c_[x + (height - z) * sx, y + (height - z) * sy]


class _Stage:
    """A scene made ready: light maps and textures; `look` gives the light and the label of any pixel points;
    rng: for what comes after the textures."""

    def __init__(self, scene: Scene, seed: int) -> None:
        self.scene, self.rays = scene, _Rays(scene.camera)
        self.things: list[tuple[Body, Rule | None]] = [(body, None) for body in scene.parts]
        if scene.rule:
            self.things.append((scene.rule.body, scene.rule))
        if scene.calliper:
            self.things.append((scene.calliper.body, None))
        self.maps: list[LightMap] = [light_map(body, scene.light) for body, _ in self.things]
        self.desk, self.mottle, after = _textures(scene.desk, seed)
        self.rng = copy.deepcopy(after)
        tints = [self.desk[0], scene.sheet.albedo if scene.sheet else self.desk[0]]
        self.tint_of = []
        for body, rule in self.things:
            self.tint_of.append(len(tints))
            tints += [body.albedo] if rule is None else [body.albedo, rule.ink]
        self.tints = np.array(tints, np.float32)
        camera = scene.camera
        self.tiles = Tiles(camera.width_px, camera.height_px, self.rays.slopes)
        states = [on_sheet(self.tiles, camera.position, scene.sheet)]
        for (body, rule), shade in zip(self.things, self.maps, strict=True):
            printed = rule.marks_down_to if rule is not None else None
            states.append(states_of(self.tiles, camera.position, body, shade, REACH, printed))
        alike, view_of = np.unique(np.stack(states), axis=1, return_inverse=True)
        self.views, self.view_of = [[int(state) for state in view] for view in alike.T], view_of.ravel()

    def look(self, u: np.ndarray, v: np.ndarray) -> tuple[np.ndarray, np.ndarray, np.ndarray]:
        """((n,) linear light on what the rays through pixel points (u, v) meet, (n,) number of its tint, (n,) label); labels
        differ across every sharp edge."""
        return self._follow(*self.rays.slopes(u.copy(), v.copy()))

    def _follow(self, sx: np.ndarray, sy: np.ndarray) -> tuple[np.ndarray, np.ndarray, np.ndarray]:
        cx, cy, cz = self.scene.camera.position
        gx, gy = cx - cz * sx, cy - cz * sy
        light, tint, label = self._table(gx, gy)
        met_at = np.zeros(len(sx))
        for k, ((body, rule), shade) in enumerate(zip(self.things, self.maps, strict=True)):
            near = np.flatnonzero(shade.near(gx, gy, REACH))
            if near.size == 0:
                continue
            slope_x, slope_y = sx[near], sy[near]
            light[near] *= shade.at(gx[near], gy[near])
            px, py = body.into(gx[near] + body.height * slope_x, gy[near] + body.height * slope_y)
            slope = body.turn_in(slope_x, slope_y)
            if body.bow is not None:
                # a ray meets the lifted column where it would meet the flat body after crossing the face that much higher;
                # within the ray's way down the wall (about 1 mm aside) the lift changes by some 0.01 mm at most
                lift = body.bow.lift(px, py)
                px, py = px + lift * slope[0], py + lift * slope[1]
            hits = meet(body, px, py, *slope)
            if body.pockets:
                sink(body, hits, px, py, *slope)
            hit = np.flatnonzero((hits.kind > 0) & (hits.z > met_at[near]))
            at = near[hit]
            if at.size == 0:
                continue
            kind, z = hits.kind[hit], hits.z[hit]
            met_at[at] = z
            label[at] = 10 + 20 * k + kind
            back = z - body.height
            hx, hy = px[hit] + back * slope[0][hit], py[hit] + back * slope[1][hit]
            shown = self._shade(body, shade, kind, z, hx, hy, hits.nx[hit], hits.ny[hit], hits.nz[hit])
            sunk = np.flatnonzero(kind > WALL)
            if body.pockets:
                shade_pockets(body, self.scene.light, kind, z, hx, hy, hits.nx[hit], hits.ny[hit], shown)
            elif sunk.size:
                shown[sunk] = channel_light(body, hits, hit[sunk], self.scene.light)
            shown *= 1 + body.mottle * self._mottle_at(hx * 8, hy * 8)
            light[at], tint[at] = shown, self.tint_of[k]
            if rule is not None:
                ink = at[rule.marked(hx, hy) & (kind == FACE)]
                tint[ink] = self.tint_of[k] + 1
                label[ink] += 8
        return light, tint, label

    def whole(self) -> tuple[np.ndarray, np.ndarray]:
        """((3, h, w) linear light, (h, w) label): one ray a pixel."""
        tiles = self.tiles
        light = np.empty((tiles.count, SIDE * SIDE), np.float32)
        tint, label = np.empty(light.shape, np.uint8), np.empty(light.shape, np.uint8)
        for k in range(len(self.views)):
            members = np.flatnonzero(self.view_of == k)
            for first in range(0, len(members), TILE_BATCH):
                some = members[first:first + TILE_BATCH]
                seen = self._seen(k, *tiles.slopes(some))
                for whole, part in zip((light, tint, label), seen, strict=True):
                    whole[some] = part.reshape(len(some), -1)
        shown, which = tiles.picture(light), tiles.picture(tint)
        linear = np.empty((3, *shown.shape), np.float32)
        for plane, tints in zip(linear, self.tints.T, strict=True):
            np.multiply(tints.take(which), shown, out=plane)
        return linear, tiles.picture(label)

    def across_pixels(self, row: np.ndarray, column: np.ndarray) -> np.ndarray:
        """(3, n) linear light of pixels, each by a raster of rays."""
        step = (np.arange(RASTER) + 0.5) / RASTER
        dx, dy = (a.ravel() for a in np.meshgrid(step, step))
        out = np.empty((3, len(row)), np.float32)
        view = self.view_of[self.tiles.of(row, column)]
        for k in range(len(self.views)):
            members = np.flatnonzero(view == k)
            for first in range(0, len(members), RASTER_BATCH):
                some = members[first:first + RASTER_BATCH]
                rays = self.rays.slopes((column[some, None] + dx).ravel(), (row[some, None] + dy).ravel())
                light, tint, _ = self._seen(k, *rays)
                for plane, tints in zip(out, self.tints.T, strict=True):
                    plane[some] = (tints.take(tint) * light).reshape(len(some), RASTER * RASTER).mean(1)
        return out

    def _seen(self, view: int, sx: np.ndarray, sy: np.ndarray) -> tuple[np.ndarray, np.ndarray, np.ndarray]:
        """As look, for rays of tiles that show the same things."""
        sheet, *bodies = self.views[view]
        return self._follow(sx, sy) if MET in bodies else self._plain(sx, sy, sheet, bodies)

    def _plain(self, sx: np.ndarray, sy: np.ndarray, sheet: int,
               bodies: list[int]) -> tuple[np.ndarray, np.ndarray, np.ndarray]:
        """As look, for rays of tiles that show one flat thing."""
        cx, cy, cz = self.scene.camera.position
        if not {FLAT, PRINTED}.isdisjoint(bodies):
            k = next(k for k, state in enumerate(bodies) if state in (FLAT, PRINTED))
            body, rule = self.things[k]
            x, y = body.into(cx + (body.height - cz) * sx, cy + (body.height - cz) * sy)
            if body.bow is not None:
                lift, slope = body.bow.lift(x, y), body.turn_in(sx, sy)
                x, y = x + lift * slope[0], y + lift * slope[1]
            light = 1 + body.mottle * self._mottle_at(x * 8, y * 8)
            tint, label = np.full(len(sx), self.tint_of[k], np.uint8), np.full(len(sx), 10 + 20 * k + FACE, np.uint8)
            if rule is not None and bodies[k] == PRINTED:
                ink = rule.marked(x, y)
                tint[ink] += 1
                label[ink] += 8
            first = k + 1
        else:
            first = 0
        if first == 0 or DARK in bodies[first:]:
            gx, gy = cx - cz * sx, cy - cz * sy
        if first == 0:
            light, tint, label = self._table(gx, gy, sheet)
        for state, shade in zip(bodies[first:], self.maps[first:], strict=True):
            if state == DARK:
                light *= shade.at(gx, gy)
        return light, tint, label

    def needs_raster(self, u: np.ndarray, v: np.ndarray) -> np.ndarray:
        """Where fine marks may pass between two pixels unseen."""
        rule = self.scene.rule
        if rule is None:
            return np.zeros(len(u), bool)
        cx, cy, cz = self.scene.camera.position
        sx, sy = self.rays.slopes(u.copy(), v.copy())
        return rule.near_marks(*rule.body.into(cx - (cz - rule.thickness) * sx, cy - (cz - rule.thickness) * sy))

    def _table(self, gx: np.ndarray, gy: np.ndarray, sheet: int = ACROSS) -> tuple[np.ndarray, np.ndarray, np.ndarray]:
        """(light, tint, label) of points of the open table, unshaded; sheet: whether all of them lie on it, or none."""
        paper = self.scene.sheet
        if paper is None or sheet == OFF_SHEET:
            return self._desk_at(gx, gy), np.zeros(len(gx), np.uint8), np.zeros(len(gx), np.uint8)
        if sheet == ON_SHEET:
            return self._paper_at(gx, gy), np.ones(len(gx), np.uint8), np.ones(len(gx), np.uint8)
        on = paper.covers(gx, gy)
        light = np.empty(len(gx), np.float32)
        for where, tone_at in ((on, self._paper_at), (~on, self._desk_at)):
            at = np.flatnonzero(where)
            if at.size:
                light[at] = tone_at(gx[at], gy[at])
        return light, on.astype(np.uint8), on.astype(np.uint8)

    def _desk_at(self, gx: np.ndarray, gy: np.ndarray) -> np.ndarray:
        return 1 + between_nodes(self.desk[1], _round_again(gx + 400), _round_again(gy + 400), cv2.BORDER_WRAP)

    def _paper_at(self, gx: np.ndarray, gy: np.ndarray) -> np.ndarray:
        return 1 + 0.006 * self._mottle_at(gx * 5, gy * 5)

    def _mottle_at(self, x: np.ndarray, y: np.ndarray) -> np.ndarray:
        return self.mottle.ravel().take(((x.astype(np.intp) & 511) << 9) | (y.astype(np.intp) & 511))

    def _shade(self, body: Body, shade: LightMap, kind: np.ndarray, z: np.ndarray, hx: np.ndarray, hy: np.ndarray, nx: np.ndarray,
               ny: np.ndarray, nz: np.ndarray) -> np.ndarray:
        """Light that a hit point sends back, 1 for an open flat face of albedo 1."""
        lamp = self.scene.light
        lx, ly, lz = lamp.towards
        out = np.ones(len(z), np.float32)
        bent = np.flatnonzero(kind != FACE)
        if bent.size == 0:
            return out
        k = kind[bent]
        wx, wy = body.turn_out(nx[bent], ny[bent])
        open_sky = (1 + nz[bent]) / 2
        facing = np.maximum(wx * lx + wy * ly + nz[bent] * lz, 0) / lz
        tx, ty = body.out(hx[bent], hy[bent])
        floor = np.where(k == ROUND, 1.0, shade.at(tx + 0.3 * wx, ty + 0.3 * wy))
        height = np.clip(z[bent] / body.height, 0, 1)
        reach = np.where(k == WALL, height ** 1.5 + (1 - height ** 1.5) * floor, 1.0)
        out[bent] = (((1 - lamp.lamp_share) * open_sky + lamp.lamp_share * facing) * reach * (1 - lamp.glow) + lamp.glow)
        return out


def _round_again(place: np.ndarray) -> np.ndarray:
    """Places on a texture that repeats after 800; most lie within already, and the remainder is slow."""
    return place if place.min() >= 0 and place.max() < 800 else place % 800


@lru_cache(maxsize=4)
def _textures(kind: str, seed: int) -> tuple[tuple[tuple[float, float, float], np.ndarray], np.ndarray, np.random.Generator]:
    """Table top and mottle of a scene's surfaces, and the random numbers as they go on after these (to be copied): the same for
    every picture of one kind of desk and one seed."""
    rng = np.random.default_rng(seed)
    desk = _desk_texture(kind, rng)
    mottle = ndimage.gaussian_filter(rng.standard_normal((512, 512)), 3, mode="wrap").astype(np.float32)
    mottle /= mottle.std()
    return desk, mottle, rng


def _desk_texture(kind: str, rng: np.random.Generator) -> tuple[tuple[float, float, float], np.ndarray]:
    """(albedo, (800, 800) relative tone, one value a mm) of a table top."""
    raw = np.fft.rfft2(rng.standard_normal((800, 800)))
    if kind == "wood":
        grain = np.fft.irfft2(raw * (_soft(60, 5) + 0.35 * _soft(25, 1.2)))
        return (0.24, 0.20, 0.155), (0.22 * grain / grain.std()).clip(-0.6, 0.8).astype(np.float32)
    cloud = np.fft.irfft2(raw * _soft(12, 12))
    return ((0.40, 0.395, 0.38) if kind == "plain" else (0.10, 0.095, 0.09)), (0.03 * cloud / cloud.std()).astype(np.float32)


def _soft(down: float, across: float) -> np.ndarray:
    """What blurring an (800, 800) texture that repeats does to its Fourier transform: a Gaussian cut off at four standard
    deviations."""
    weights = []
    for sigma in (down, across):
        away = np.arange(-int(4 * sigma + 0.5), int(4 * sigma + 0.5) + 1)
        weight = np.exp(-0.5 * (away / sigma) ** 2)
        ring = np.zeros(800)
        np.add.at(ring, away % 800, weight / weight.sum())
        weights.append(ring)
    return np.fft.rfft2(np.outer(*weights))


def photograph(scene: Scene, seed: int) -> Photo:
    """The picture of a scene; the same seed gives the same picture."""
    stage = _Stage(scene, seed)
    linear, label = stage.whole()
    _refine_edges(stage, linear, label)
    return Photo(_develop(linear, scene.develop, stage.rng), truth_of(scene, seed), scene)


def _refine_edges(stage: _Stage, linear: np.ndarray, label: np.ndarray) -> None:
    """Pixels crossed by an edge, again by a raster of rays each; linear: (3, h, w)."""
    around = np.ones((3, 3), np.uint8)
    mixed = cv2.dilate(label, around) != cv2.erode(label, around)
    rounded = (label >= 10) & ((label - 10) % 20 == ROUND)
    if stage.scene.rule is not None:
        h, w = label.shape
        u, v = np.meshgrid(np.arange(0, w, 4) + 2.0, np.arange(0, h, 4) + 2.0)
        marks = stage.needs_raster(u.ravel(), v.ravel()).reshape(u.shape)
        mixed |= marks.repeat(4, 0)[:h].repeat(4, 1)[:, :w]
    row, column = np.nonzero(mixed | rounded)
    linear[:, row, column] = stage.across_pixels(row, column)


def _develop(linear: np.ndarray, how: Develop, rng: np.random.Generator) -> np.ndarray:
    """Linear light (3, h, w) to an 8-bit picture (h, w, 3)."""
    h, w = linear.shape[1:]
    y, x = np.linspace(-1, 1, h, dtype=np.float32)[:, None], np.linspace(-1, 1, w, dtype=np.float32)[None, :]
    out = np.empty((h, w, 3), np.uint8)
    tone = _tone_curve()
    for k in range(3):
        shown = _blurred(linear[k], how.blur_px, 3.5, cv2.BORDER_REPLICATE)
        grain = _blurred(rng.standard_normal((h, w), dtype=np.float32), 0.5, 3.0) if how.noise > 0 else None
        for top in range(0, h, DEVELOP_ROWS):
            band = slice(top, top + DEVELOP_ROWS)
            plane = shown[band] * (how.exposure * (1 - how.vignette * (x * x + y[band] ** 2) / 2 + 0.04 * x - 0.03 * y[band]))
            if grain is not None:
                rough = np.sqrt(np.maximum(plane, 0) * np.float32(0.2) + np.float32(0.002))
                rough *= grain[band]
                rough *= how.noise / 0.6
                plane += rough
            plane *= 4095
            np.clip(plane, 0, 4095, out=plane)
            tone.take(plane.astype(np.intp), out=shown[band], mode="clip")
        if how.sharpen > 0:
            soft = _blurred(shown, how.sharpen_px, 3.0)
            shown = cv2.addWeighted(shown, 1 + how.sharpen, soft, -how.sharpen, 0.0)
        out[:, :, k] = cv2.convertScaleAbs(np.maximum(shown, 0, out=shown))
    return out


def _blurred(plane: np.ndarray, sigma: float, reach: float, border: int = cv2.BORDER_REFLECT) -> np.ndarray:
    """A plane blurred by a Gaussian cut off at `reach` standard deviations."""
    if sigma <= 0:
        return plane
    away = np.arange(-int(reach * sigma + 0.5), int(reach * sigma + 0.5) + 1)
    weight = np.exp(-0.5 * (away / sigma) ** 2)
    weight /= weight.sum()
    return cv2.sepFilter2D(plane, cv2.CV_32F, weight, weight, borderType=border)


def _tone_curve() -> np.ndarray:
    """The sRGB transfer function (IEC 61966-2-1), 4096 entries to 0..255."""
    x = np.arange(4096) / 4095
    return np.where(x <= 0.0031308, 12.92 * x, 1.055 * np.maximum(x, 1e-9) ** (1 / 2.4) - 0.055).astype(np.float32) * 255


def rims_truth(scene: Scene) -> list[dict]:
    """Every rim of every part on the table: role, part number, loop in the drawing's own frame, points (n, 2) on the table."""
    rims = []
    for number, body in enumerate(scene.parts, 1):
        for k, loop in enumerate(body.loops):
            points = walk(list(loop), 0.1)
            rims.append({"role": "outer" if k == 0 else "opening", "part": number, "loop": loop,
                         "points": np.c_[body.out(points[:, 0], points[:, 1])]})
    return rims


def truth_of(scene: Scene, seed: int) -> dict:
    """The scene as the photographs' truth files tell it (the first part), with the camera in the model's terms."""
    body, camera = scene.parts[0], scene.camera
    reference: dict = {}
    if scene.sheet:
        reference["sheet_px"] = project(camera, np.c_[scene.sheet.corners(), np.zeros(4)]).tolist()
    if scene.rule:
        reference["rule"] = {"span_mm": scene.rule.count * scene.rule.pitch, "z_mm": scene.rule.thickness,
                             "px": project(camera, scene.rule.stroke_points()).tolist()}
    if scene.calliper:
        reference["jaws"] = {"opening_mm": scene.calliper.opening, "z_mm": scene.calliper.thickness,
                             "px": project(camera, scene.calliper.face_points()).tolist()}
    return {"units": "mm", "seed": seed, "height": body.height, "edge_radius": body.edge_radius, "draft_deg": body.draft_deg,
            "size": [camera.width_px, camera.height_px], "f35": scene.f35, "loops": [list(loop) for loop in body.loops],
            "grooves": [list(c) for c in body.channels], "parts": len(scene.parts),
            "camera": {"fpx": camera.focal_px, "origin": list(camera.position), "rotation": [list(r) for r in camera.rotation],
                       "lens": [camera.k1, camera.k2]}, "reference": reference}


def save_jpeg(photo: Photo, path: Path | str, orientation: int = 1) -> None:
    """Write the picture as a JPEG with its focal length; orientation: 1, 3, 6 or 8, stored turned so that it shows upright."""
    turns = {1: 0, 3: 2, 6: 1, 8: 3}[orientation]
    picture = Image.fromarray(np.ascontiguousarray(np.rot90(photo.image, turns)))
    exif = Image.Exif()
    exif[EXIF_ORIENTATION] = orientation
    if photo.scene.f35 is not None:
        inner = exif.get_ifd(EXIF_SUBFILE)
        inner[EXIF_FOCAL_35MM] = int(round(photo.scene.f35))
        inner[EXIF_FOCAL_LENGTH] = photo.scene.f35 * 0.2722
    picture.save(path, "JPEG", quality=photo.scene.develop.quality, exif=exif)


def part_of(drawing: Drawing, height: float = 8.0, edge_radius: float = 0.4, **more: object) -> Body:
    """A body made from an invented drawing."""
    return Body(drawing.loops, height, edge_radius, channels=drawing.channels, pockets=drawing.pockets, **more)
