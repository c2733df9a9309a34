# SPDX-License-Identifier: MIT
"""A telephone's camera and a printed paper, drawn from first principles: pinhole with radial distortion, pixels as areas, noise, tone.

Paper frame: millimetres on the page, x to the right, y down, z into the table; a height above the paper is negative z. Camera frame: x to the
right, y down, z forward. A pixel's middle has whole coordinates. The paper itself is the program's own page as pdftoppm draws it: no geometry
of it is known here but what OpenCV's reader of tags (family 36h11) finds on it.
"""
import functools
import pathlib
import subprocess
import tempfile

import cv2
import numpy as np
from scipy import interpolate

cv2.setNumThreads(1)
DPI = 600
TEXEL = 25.4 / DPI
PAPER, DARK = 0.75, 0.05        # of the light that is thrown back
# Eight places in a pixel, no two in one row or column (eight queens).
PLACES = (np.array([[0, 3], [1, 6], [2, 2], [3, 7], [4, 1], [5, 4], [6, 0], [7, 5]]) + 0.5) / 8 - 0.5
NODES = 49                      # of a picture, each way
BAND = 8                        # rows of a picture that are drawn at a time
STEPS = 300                     # of the light's whole that a texture of whole numbers has: paper, print and platter are whole numbers of it
TONES = (255 * (np.arange(65536) / 65535) ** (1 / 2.2)).astype(np.float32)


class Paper:
    """A printed page: `texture` from 0 to 1 (float32), `marks`: number → four corners in mm."""

    def __init__(self, texture):
        self.texture, self.texel = texture, TEXEL
        # This refinement counts from a pixel's corner, not from its middle.
        words = cv2.aruco.Dictionary_get(cv2.aruco.DICT_APRILTAG_36h11)
        options = cv2.aruco.DetectorParameters_create()
        options.cornerRefinementMethod = cv2.aruco.CORNER_REFINE_APRILTAG
        corners, numbers, _ = cv2.aruco.detectMarkers((texture * 255).astype(np.uint8), words, parameters=options)
        if numbers is None:
            raise ValueError("no marks on the page")
        self.marks = {int(number): one[0] * TEXEL for one, number in zip(corners, numbers.ravel())}
        middles = np.array([one.mean(axis=0) for one in self.marks.values()])
        # A circle through the marks' middles: for a disc its middle, for a card near enough the card's.
        columns = np.column_stack([2 * middles, np.ones(len(middles))])
        x, y, rest = np.linalg.lstsq(columns, np.sum(middles ** 2, axis=1), rcond=None)[0]
        self.middle, self.radius = np.array([x, y]), float(np.sqrt(rest + x * x + y * y))
        self.edge = float(np.median([np.linalg.norm(one - np.roll(one, 1, axis=0), axis=1) for one in self.marks.values()]))
        self.box = np.concatenate(list(self.marks.values())).min(axis=0), np.concatenate(list(self.marks.values())).max(axis=0)

    @property
    def cut(self):
        """Where a disc is cut out, from its middle, mm: outside of the marks' corners."""
        far = max(np.linalg.norm(one - self.middle, axis=1).max() for one in self.marks.values())
        return far + 1.5

    def spindle(self):
        """Where a circle as wide as a spindle is drawn on an arm's paper (7.24 mm, IEC 60098), mm."""
        ring = np.zeros((181, 181), np.uint8)
        cv2.circle(ring, (90, 90), round(7.24 / 2 / TEXEL), 255, 3)
        ink = np.uint8(255 * (1 - self.texture[:, :self.texture.shape[1] // 2]))
        _, _, _, (left, top) = cv2.minMaxLoc(cv2.matchTemplate(ink, ring, cv2.TM_CCORR_NORMED))
        return (left + 90.5) * TEXEL, (top + 90.5) * TEXEL

    def reduced(self, texel_mm):
        """The texture with texels of about TEXEL_MM, averaged, and their true sizes in x and y."""
        height, width = self.texture.shape
        new = max(1, round(width * TEXEL / texel_mm)), max(1, round(height * TEXEL / texel_mm))
        return cv2.resize(self.texture, new, interpolation=cv2.INTER_AREA), (width * TEXEL / new[0], height * TEXEL / new[1])


@functools.lru_cache(maxsize=2)
def paper_of(program, kind, *words):
    """What `deckwright template KIND` prints."""
    with tempfile.TemporaryDirectory() as folder:
        page = pathlib.Path(folder) / "page"
        subprocess.run([program, "template", kind, *words, "--out", f"{page}.pdf"], check=True, capture_output=True)
        return page_of(f"{page}.pdf")


def page_of(path, number=1):
    with tempfile.TemporaryDirectory() as folder:
        subprocess.run(["pdftoppm", "-r", str(DPI), "-gray", "-f", str(number), "-l", str(number), "-singlefile", str(path), f"{folder}/page"], check=True)
        return Paper(cv2.imread(f"{folder}/page.pgm", cv2.IMREAD_GRAYSCALE).astype(np.float32) / 255)


class Camera:
    """Where it stands and what its lens does. Of the pose: what it looks at (mm), from how far, tilt and side of it, roll (degrees)."""

    def __init__(self, width, height, focal, target, distance, tilt=0.0, side=0.0, roll=0.0, k1=0.0, k2=0.0, off=(0.0, 0.0)):
        self.width, self.height, self.focal, self.k1, self.k2 = width, height, focal, k1, k2
        self.off = np.array([(width - 1) / 2 + off[0], (height - 1) / 2 + off[1]])
        lean, around, turned = np.radians([tilt, side, roll])
        away = np.array([np.sin(lean) * np.cos(around), np.sin(lean) * np.sin(around), -np.cos(lean)])
        target = np.append(target, 0.0) if len(target) == 2 else np.asarray(target)
        self.place = target + distance * away
        forward = -away
        right = np.array([1.0, 0, 0]) - forward[0] * forward
        right /= np.linalg.norm(right)
        down = np.cross(forward, right)
        self.turn = np.stack([np.cos(turned) * right + np.sin(turned) * down, np.cos(turned) * down - np.sin(turned) * right, forward])

    def project(self, points):
        """Pixels of points in mm (n × 3)."""
        seen = (np.atleast_2d(points) - self.place) @ self.turn.T
        flat = seen[:, :2] / seen[:, 2:]
        r2 = np.sum(flat ** 2, axis=1, keepdims=True)
        return self.focal * flat * (1 + self.k1 * r2 + self.k2 * r2 ** 2) + self.off

    def rays(self, pixels):
        """Directions in the paper's frame (… × 3) for pixels (… × 2)."""
        bent = (pixels - self.off) / self.focal
        whole = bent[..., 0] ** 2 + bent[..., 1] ** 2
        share = np.ones_like(whole)                     # of the bent radius that the straight one is, by I. Newton's method
        for _ in range(6):
            r2 = whole * share * share
            step = (share * (1 + r2 * (self.k1 + r2 * self.k2)) - 1) / (1 + r2 * (3 * self.k1 + 5 * self.k2 * r2))
            share -= step
            if np.max(np.abs(step), initial=0) < 1e-12:
                break
        flat = bent * share[..., None]
        return np.concatenate([flat, np.ones_like(flat[..., :1])], axis=-1) @ self.turn

    def on_paper(self, pixels, height=0.0):
        """Where the rays of pixels meet the plane HEIGHT mm above the paper: x, y in mm."""
        way = self.rays(pixels)
        return self.place[:2] + way[..., :2] * ((-height - self.place[2]) / way[..., 2:])

    def grid(self, place=(0.0, 0.0), rows=None):
        """Pixels of the picture (or of ROWS of it), each moved by PLACE."""
        rows = np.arange(self.height) if rows is None else rows
        x, y = np.meshgrid(np.arange(self.width) + place[0], rows + place[1])
        return np.stack([x, y], axis=-1)

    def pixel_mm(self):
        """The smallest a pixel is on the paper."""
        corners = np.array([[0, 0], [self.width, 0], [self.width, self.height], [0, self.height], self.off], float)
        return min(np.linalg.norm(self.on_paper(one + [1, 0]) - self.on_paper(one)) for one in corners)


def draw_phone(draw, width, height, target, reach, tilt, roll=180.0, filled=(0.7, 0.92)):
    """A telephone's camera that sees a circle of REACH mm about TARGET; filled: how much of the picture's shorter side."""
    focal = draw.uniform(0.72, 0.95) * max(width, height)
    distance = focal * 2 * reach / (draw.uniform(*filled) * min(width, height))
    # The near edge of a tilted circle looks larger.
    distance = distance + 0.6 * reach * np.sin(np.radians(tilt))
    return Camera(width, height, focal, target, distance, tilt, draw.uniform(0, 360), draw.uniform(-roll, roll), draw.uniform(-0.06, 0.12),
                  draw.uniform(-0.08, 0.03), (draw.normal(0, 0.004 * width), draw.normal(0, 0.004 * width)))


def shading(camera, draw):
    """Light that falls unevenly and a lens that darkens its corners."""
    x, y = np.linspace(-1, 1, camera.width, dtype=np.float32), np.linspace(-1, 1, camera.height, dtype=np.float32)[:, None]
    slope, around = draw.uniform(0, 0.3), draw.uniform(0, 6.28)
    darker = np.float32(draw.uniform(0.05, 0.3) / 2)
    return (1 + (np.float32(slope * np.cos(around)) * x + np.float32(slope * np.sin(around)) * y)) * (1 - darker * (x * x) - darker * (y * y))


def tone(light):
    """Grey from 0 to 255 for light from 0 to 1: a power of 1/2.2. The table's steps are a hundredth of a level or less but in the dark."""
    return np.take(TONES, cv2.multiply(np.ascontiguousarray(light, np.float32), 65535.0, dtype=cv2.CV_16U).reshape(np.shape(light)))


class Sensor:
    """Light to grey: blur of the lens, exposure, tone, noise in grey levels."""

    def __init__(self, draw, shape, noise, blur):
        self.draw, self.blur = draw, blur
        self.tile = noise * draw.standard_normal((shape[0] + 256, shape[1] + 256), np.float32)

    def blurred(self, light):
        return cv2.GaussianBlur(light, (0, 0), self.blur) if self.blur else light

    def developed(self, grey):
        """With noise, in whole levels."""
        y, x = self.draw.integers(0, 256, 2)
        noisy = cv2.add(grey, self.tile[y:y + grey.shape[0], x:x + grey.shape[1]])
        return cv2.convertScaleAbs(cv2.max(noisy, 0))

    def picture(self, light):
        return self.developed(tone(self.blurred(light)))


def photograph_plane(camera, texture, sizes, first=(0.0, 0.0), beside=DARK):
    """The light of a page (texels of SIZES mm, the first one's corner at FIRST mm) as the camera sees it, a pixel the mean of eight places. Where a
    ray meets the page is reckoned at NODES rows and columns; between them it runs so smoothly that a cubic spline misses it by a thousandth of a texel
    at most.
    """
    columns, rows = (np.linspace(-2, size + 1, NODES) for size in (camera.width, camera.height))
    x, y = np.meshgrid(columns, rows)
    spots = (camera.on_paper(np.stack([x, y], axis=-1)) - first) / sizes - 0.5
    along = interpolate.make_interp_spline(rows, spots)
    across = interpolate.make_interp_spline(columns, np.moveaxis(along.c, 1, 0))
    at_columns = interpolate.BSpline.design_matrix(np.arange(camera.width, dtype=float), across.t, 3)
    whole, out = np.uint8(np.round(texture * STEPS)), np.empty((camera.height, camera.width), np.float32)
    for low in range(0, camera.height, BAND):
        high = min(low + BAND, camera.height)
        # A row more each way, for the slopes.
        at_rows = interpolate.BSpline.design_matrix(np.arange(low - 1, high + 1, dtype=float), along.t, 3)
        u, v = (np.ascontiguousarray((at_columns @ (at_rows @ across.c[..., axis].T).T).T, np.float32) for axis in (0, 1))
        out[low:high] = _band_of_plane(u, v, whole, round(beside * STEPS))[1:-1]
    return out


def _band_of_plane(u, v, texture, beside):
    by_x, by_y = [np.gradient(one, axis=1) for one in (u, v)], [np.gradient(one, axis=0) for one in (u, v)]
    out = np.zeros(u.shape, np.uint16)
    for x, y in PLACES.astype(np.float32):
        some = cv2.remap(texture, u + (x * by_x[0] + y * by_y[0]), v + (x * by_x[1] + y * by_y[1]), cv2.INTER_LINEAR, borderMode=cv2.BORDER_CONSTANT,
                         borderValue=beside)
        cv2.add(out, some, dst=out, dtype=cv2.CV_16U)
    return out * np.float32(1 / (STEPS * len(PLACES)))
