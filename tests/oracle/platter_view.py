# SPDX-License-Identifier: MIT
"""What a camera sees of a disc that turns, in a tenth of the time that film.Film.exact_light takes: tests/oracle/rendered_truth.py holds it against that.

The platter is unrolled once about the spindle (rows of angle, columns of radius), so that turning moves it along its rows. Each half of an exposure
is the mean over the angle that passes in it; a pixel is the mean of four places, two in either half, that favour no side in neither half.
"""
import cv2
import numpy as np

from camera_model import STEPS

FINE = 0.5                  # of the smallest pixel: a texel
PLACES = np.array([[[-1, 3], [1, -3]], [[-3, -1], [3, 1]]]) / 8     # in a pixel: two in the first half of the exposure, two in the second
STALE = 0.1                 # texels by which the angle of a half may differ before it is spread anew


def spread(rows):
    """Means over so many rows, a part of one at either end."""
    beyond = max(0, int(np.ceil((rows - 1) / 2)))
    weights = np.ones(2 * beyond + 1)
    if beyond:
        weights[[0, -1]] = (rows - (2 * beyond - 1)) / 2
    return weights / weights.sum()


class Unrolled:
    """LIGHT of a page with texels of SIZES mm, the spindle at HOLE mm on it, stretched down the page by STRETCH; BESIDE where the page ends."""

    def __init__(self, light, sizes, hole, stretch, reach, texel, beside):
        self.texel, self.rows, columns = texel, round(2 * np.pi * reach / texel), round(reach / texel)
        angle = (np.arange(2 * self.rows, dtype=np.float32) + 0.5)[:, None] * np.float32(np.pi / self.rows)
        radius = (np.arange(2 * columns, dtype=np.float32) + 0.5) * np.float32(texel / 2)
        u = radius * np.cos(angle) / np.float32(sizes[0]) + np.float32(hole[0] / sizes[0] - 0.5)
        v = radius * np.sin(angle) / np.float32(stretch * sizes[1]) + np.float32(hole[1] / sizes[1] - 0.5)
        fine = cv2.remap(light, u, v, cv2.INTER_LINEAR, borderMode=cv2.BORDER_CONSTANT, borderValue=beside)
        self.still = cv2.resize(fine, (columns, self.rows), interpolation=cv2.INTER_AREA)
        self.spread_over = None

    def spread(self, angle):
        """Each place the mean over an ANGLE about it; two turns one after another, in STEPS of the light."""
        rows = abs(angle) * self.rows / (2 * np.pi)
        if self.spread_over is None or abs(rows - self.spread_over) > STALE:
            self.spread_over, weights = rows, spread(rows)
            more = len(weights) // 2 + 2
            wrapped = np.concatenate([self.still[-more:], self.still, self.still[:more]])
            one = cv2.sepFilter2D(wrapped, cv2.CV_32F, np.ones(1), weights)[more:-more]
            one = np.round(one * STEPS).astype(np.uint8)
            self.twice = np.concatenate([one, one, one[:2]])
        return self.twice


class View:
    """A CAMERA's: MAPS about the spindle (mm) for each of PLACES, float32."""

    def __init__(self, unrolled, maps):
        self.unrolled, self.maps = unrolled, []
        for pair in maps:
            self.maps.append([(np.float32(1 / unrolled.texel) * np.hypot(x, y) - np.float32(0.5),
                               (np.arctan2(y, x) * (unrolled.rows / (2 * np.pi)) - 0.5).astype(np.float32)) for x, y in pair])
        self.row = np.empty_like(self.maps[0][0][0])

    def light(self, angles, weights, half):
        """ANGLES and WEIGHTS of each row in the middle of either half, HALF the angle that passes in one."""
        out, texture, rows = None, self.unrolled.spread(half), self.unrolled.rows
        for angle, weight, pair in zip(angles, weights, self.maps):
            # Rows from -rows/2 to rows/2 are moved to where the texture is; a turn more or less is the same.
            shift = (-angle * rows / (2 * np.pi)) % rows + 0.5 * rows
            shift = np.where(shift >= rows, shift - rows, shift) + 0.5 * rows
            some = []
            for column, row in pair:
                np.add(row, shift.astype(np.float32)[:, None], out=self.row)
                some.append(cv2.remap(texture, column, self.row, cv2.INTER_LINEAR, borderMode=cv2.BORDER_REPLICATE))
            both = cv2.add(*some, dtype=cv2.CV_16U) * (weight / (2 * STEPS)).astype(np.float32)[:, None]
            out = both if out is None else cv2.add(out, both, dst=out)
        return out


def lamp_weights(blink, mains, begins, exposure):
    """Of a lamp that gives 1 - BLINK (1 + cos 2 pi MAINS t) / 2: what either half of an exposure must weigh, so that both what falls in all and the
    middle of its time are those of the lamp. BEGINS: of each row, s."""
    phase, wide = 2 * np.pi * mains * (begins + exposure / 2), 2 * np.pi * mains * exposure
    whole = 1 - blink / 2 - blink / 2 * np.cos(phase) * np.sin(wide / 2) / (wide / 2)
    late = blink / 2 * np.sin(phase) * (2 * np.sin(wide / 2) / wide ** 2 - np.cos(wide / 2) / wide)
    return whole / 2 - 2 * late, whole / 2 + 2 * late
