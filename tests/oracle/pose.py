# SPDX-License-Identifier: MIT
"""Photographs of a cartridge over the program's printed paper: tip, cantilever, body, headshell and arm tube at a known pose.

Solids are polygons whose edges follow the lens; the hindmost are painted first, three times finer than the pixels. Heights above the paper are
positive here and negative z in the camera's frame. Angles in plan are degrees clockwise from above (x to the right, y down the page) of the
direction from the front to the rear.
"""
import copy

import cv2
import numpy as np
from scipy import optimize

import camera_model
import pose_seen

FINE = 3                    # painted finer than the pixels
FILLED = 0.68               # fine pixels that fillPoly adds all around, by the areas of rectangles at any angle
TOUCH_PX = 2.0              # 95 % of touches are nearer, whichever way
RAYLEIGH_95 = np.sqrt(-2 * np.log(0.05))


def plan(degrees):
    return np.array([np.cos(np.radians(degrees)), np.sin(np.radians(degrees)), 0.0])


def solid(front, ahead, across, high, length, width, height):
    """Eight corners: bottom then top, each front left, front right, rear right, rear left; FRONT is the middle of the bottom front edge."""
    base = [front - across * width / 2, front + across * width / 2]
    base += [base[1] + ahead * length, base[0] + ahead * length]
    return np.array(base + [corner + high * height for corner in base])


FACES = ((0, 1, 2, 3), (4, 5, 6, 7), (0, 1, 5, 4), (1, 2, 6, 5), (2, 3, 7, 6), (3, 0, 4, 7))


class Setup:
    """What stands over the paper, drawn; truth in mm and degrees of the page's frame. LIT draws how the lamp falls on the arm tube. STANDS: x and y
    that the tip is about, as in use over a grid, and the way to the rear, degrees; else it is anywhere and points any way."""

    def __init__(self, draw, paper, lit, stands=None):
        low, high = paper.box
        self.tip = np.append(low + (high - low) * draw.uniform(0.3, 0.7, 2), -draw.uniform(0.0, 1.5))
        self.body_deg = draw.uniform(0, 360)
        if stands:
            self.tip = np.append(stands[:2] + draw.normal(0, 0.5, 2), -draw.uniform(0.0, 0.3))
            self.body_deg = stands[2] + draw.normal(0, 2)
        self.cantilever_deg = self.body_deg + draw.normal(0, 1.5)
        self.headshell_deg = self.body_deg + draw.normal(0, 0.8)
        self.tube_deg, self.tube_tilt = self.headshell_deg - draw.choice([-1, 1]) * draw.uniform(15, 25), draw.normal(0, 1.5)
        up, self.rise, self.cantilever = np.array([0, 0, -1.0]), draw.uniform(15, 26), draw.uniform(4.5, 6.5)
        slope = np.radians(self.rise)
        self.root = self.tip + self.cantilever * (np.cos(slope) * plan(self.cantilever_deg) + np.sin(slope) * up)
        ahead, across = plan(self.body_deg), plan(self.body_deg + 90)
        # The body hides the cantilever's rear end; its front stands between tip and root.
        front = self.tip + ahead * (self.cantilever * draw.uniform(0.75, 0.95)) + up * (self.root[2] * -1 + self.tip[2] + draw.uniform(0.6, 1.2))
        self.body_size = draw.uniform(22, 30), draw.uniform(15, 18), draw.uniform(9, 13)
        self.body = solid(front, ahead, across, up, *self.body_size)
        ahead, across = plan(self.headshell_deg), plan(self.headshell_deg + 90)
        length, width = draw.uniform(32, 40), self.body_size[1] * draw.uniform(0.6, 0.8)
        begin = front + plan(self.body_deg) * draw.uniform(3, 6) + up * (self.body_size[2] + 0.1)
        self.headshell = solid(begin, ahead, across, up, length, width, draw.uniform(1.5, 3))
        lean = np.radians(self.tube_tilt)
        self.along = np.cos(lean) * plan(self.tube_deg) + np.sin(lean) * up       # rising to the rear is positive
        self.tube_radius, self.tube_length = draw.uniform(4, 5), draw.uniform(55, 90)
        self.tube_from = begin + ahead * length + self.along * 2 + up * 1.0
        self.thick = draw.uniform(0.4, 0.7)
        self.touched = lit.uniform(0.05, 0.3), lit.uniform(0.5, 0.9)
        self.tube_radius *= lit.uniform(0.7, 1.4)
        self.light, self.around = lit.uniform(0.25, 0.6), lit.uniform(0.3, 1.0)
        self.lamp = plan(lit.uniform(0, 360)) + lit.uniform(0.4, 2) * up
        self.lamp /= np.linalg.norm(self.lamp)

    def points(self):
        """Names of what a finger touches, in mm (z down)."""
        named = {"tip": self.tip, "cantilever.front": self.tip, "cantilever.rear": self.on_cantilever(0.7)}
        for name, corners in (("body", self.body), ("headshell", self.headshell)):
            for side, (front, rear) in (("left", (4, 7)), ("right", (5, 6))):
                named[f"{name}.{side}.front"], named[f"{name}.{side}.rear"] = corners[front], corners[rear]
        named["tube.front"], named["tube.rear"] = (self.tube_from + self.along * self.tube_length * part for part in self.touched)
        return named

    def on_cantilever(self, part):
        return self.tip + part * (self.root - self.tip)

    def tube_edge(self, camera, part, side):
        """Where the tube's outline lies, seen from CAMERA: a place on its skin whose normal stands square to the ray."""
        middle = self.tube_from + self.along * self.tube_length * part
        away = middle - camera.place
        away -= (away @ self.along) * self.along
        far = np.linalg.norm(away)
        out = np.cross(self.along, away / far)
        lean = self.tube_radius / far
        return middle + self.tube_radius * (side * np.sqrt(1 - lean ** 2) * out - lean * away / far)

    def shade(self, camera):
        """The tube's light by pixels: how its skin stands to the lamp, from its outline on the left to that on the right; and light
        from all around, 1 where there is no other. Source (published): J. H. Lambert, Photometria, 1760."""
        left, right = (camera.project(np.array([self.tube_edge(camera, part, side) for part in (0, 1)])) for side in (-1, 1))
        middle = self.tube_from + self.along * self.tube_length / 2
        towards = camera.place - middle
        towards -= (towards @ self.along) * self.along
        towards /= np.linalg.norm(towards)
        out = np.cross(self.along, -towards)                  # as tube_edge has it

        def of(x, y):
            off = []
            for a, b in (left, right):
                way = (b - a) / np.linalg.norm(b - a)
                off.append(np.abs((x - a[0]) * way[1] - (y - a[1]) * way[0]))
            across = (off[0] - off[1]) / np.maximum(off[0] + off[1], 1e-6)
            lit = across * (out @ self.lamp) + np.sqrt(np.maximum(0, 1 - across ** 2)) * (towards @ self.lamp)
            return np.float32(self.light) * (self.around + (1 - self.around) * np.maximum(0, lit)).astype(np.float32)
        return of

    def polygons(self, camera):
        """Solids, the hindmost first: the faces of each that are seen, by (corners in mm, light). Every camera stands before the set-up and above it."""
        tube = [self.tube_edge(camera, part, side) for part, side in ((0, -1), (1, -1), (1, 1), (0, 1))]
        out = [[(np.array(tube), self.shade(camera))], [(self.rod(camera), 0.5)]]
        for corners, lights in ((self.body, (0.02, 0.10, 0.05, 0.07, 0.05, 0.08)), (self.headshell, (0.1, 0.38, 0.2, 0.25, 0.2, 0.28))):
            faces = []
            for face, light in zip(FACES, lights):
                ring = corners[list(face)]
                normal = np.cross(ring[1] - ring[0], ring[2] - ring[1])
                normal *= np.sign(normal @ (ring.mean(axis=0) - corners.mean(axis=0)))
                if normal @ (camera.place - ring.mean(axis=0)) > 0:
                    faces.append((ring, light))
            out.append(faces)
        return out

    def rod(self, camera):
        way = self.root - self.tip
        across = np.cross(way, self.tip - camera.place)
        across *= self.thick / 2 / np.linalg.norm(across)
        return np.array([self.tip - 0.15 * across, self.tip + 0.15 * across, self.on_cantilever(0.08) + across, self.root + across, self.root - across,
                         self.on_cantilever(0.08) - across])

    def truth(self):
        def degrees(angle):
            return (angle + 180) % 360 - 180
        return {"tip": (self.tip * [1, 1, -1]).tolist(), "body": self.body_deg % 360, "cantilever": self.cantilever_deg % 360,
                "headshell": self.headshell_deg % 360, "tube": self.tube_deg % 360, "tube.tilt": self.tube_tilt, "rise": self.rise,
                "cantilever against body": degrees(self.cantilever_deg - self.body_deg),
                "headshell against body": degrees(self.headshell_deg - self.body_deg)}


def edged(camera, ring):
    """A polygon's outline in pixels, its sides bent as the lens bends them."""
    steps = np.linspace(0, 1, 24, endpoint=False)[:, None]
    return np.concatenate([camera.project(a + steps * (b - a)) for a, b in zip(ring, np.roll(ring, -1, axis=0))])


def drawn_in(ring):
    """RING (fine pixels) made smaller all around by what OpenCV's smooth filling adds to it."""
    area = np.sum(ring[:, 0] * np.roll(ring[:, 1], -1) - ring[:, 1] * np.roll(ring[:, 0], -1))
    way = np.roll(ring, -1, axis=0) - ring
    way /= np.maximum(np.linalg.norm(way, axis=1, keepdims=True), 1e-9)
    inwards = np.sign(area) * np.column_stack([-way[:, 1], way[:, 0]])
    before = np.roll(inwards, 1, axis=0)
    return ring + FILLED * (before + inwards) / np.maximum(1 + np.sum(before * inwards, axis=1, keepdims=True), 0.3)


def filled(shape, ring):
    """The share of each fine pixel that lies within RING."""
    mask = np.zeros(shape, np.uint8)
    cv2.fillPoly(mask, [np.round(drawn_in(ring) * 16).astype(np.int32)], 255, cv2.LINE_AA, 4)
    return mask.astype(np.float32) / 255


def paint(light, camera, solids):
    """SOLIDS over LIGHT, in place. Where two faces of a solid meet, the pixel is theirs alone: nothing behind shines through the seam."""
    outlines = [[(edged(camera, ring), value) for ring, value in faces] for faces in solids]
    spots = np.concatenate([outline for faces in outlines for outline, _ in faces])
    low = np.clip(np.floor(spots.min(axis=0)).astype(int) - 2, 0, [camera.width, camera.height])
    high = np.clip(np.ceil(spots.max(axis=0)).astype(int) + 3, 0, [camera.width, camera.height])
    part = np.s_[low[1]:high[1], low[0]:high[0]]
    fine = np.repeat(np.repeat(light[part], FINE, axis=0), FINE, axis=1)
    for faces in outlines:
        shares = [filled(fine.shape, (outline - low + 0.5) * FINE - 0.5) for outline, _ in faces]
        covered = np.sum(shares, axis=0, dtype=np.float32)
        x, y = ((np.arange(size, dtype=np.float32) + 0.5) / FINE - 0.5 + start for size, start in zip(fine.shape[::-1], low))
        lights = [value(x[None, :], y[:, None]) if callable(value) else np.float32(value) for _, value in faces]
        seen = sum(share * light for share, light in zip(shares, lights)) / np.maximum(covered, 1e-6)
        covered = cv2.morphologyEx(np.minimum(covered, 1), cv2.MORPH_CLOSE, np.ones((3, 3), np.uint8))
        fine += covered * np.where(seen > 0, seen - fine, 0)
    light[part] = cv2.resize(fine, None, fx=1 / FINE, fy=1 / FINE, interpolation=cv2.INTER_AREA)


class Pose:
    """A set-up and the telephones that see it; write() renders the pictures."""

    def __init__(self, seed, number, paper, pictures=2, size=(4000, 3000), distance=None, stands=None):
        self.draw = draw = np.random.default_rng([seed, number, 222])
        self.paper, self.setup = paper, Setup(draw, paper, np.random.default_rng([seed, number, 223]), stands)
        self.distance = distance or draw.uniform(110, 200)
        self.noise, self.cameras = draw.uniform(1.0, 5.0), []
        focal, lens = draw.uniform(0.68, 0.85) * size[0], (draw.uniform(-0.06, 0.1), draw.uniform(-0.06, 0.03))
        first = draw.uniform(25, 60) * draw.choice([-1, 1])
        for which in range(pictures):
            around = self.setup.body_deg + 180 + first * (1 - 2 * which / max(1, pictures - 1)) + draw.normal(0, 5)
            self.cameras.append(self._camera(draw, size, focal, lens, around))
        self.lines = pose_seen.lines(self.setup, self.cameras, edged)
        again, self.touched = np.random.default_rng([seed, number, 224]), []
        for spots, ends in zip((self.exact(camera) for camera in self.cameras), self._ends()):
            touched = {name: spot + draw.normal(0, TOUCH_PX / RAYLEIGH_95, 2) for name, spot in spots.items()}
            touched |= {name: spot + again.normal(0, TOUCH_PX / RAYLEIGH_95, 2) for name, spot in ends.items()}
            self.touched.append({name: spot.tolist() for name, spot in touched.items()})

    def _ends(self):
        """For each telephone the pixels of the ends of what is seen of each line, as `NAME front` and `NAME rear`."""
        return [{f"{name} {end}": camera.project(place)[0] for name, places in self.lines.items() for end, place in zip(("front", "rear"), places[which])}
                for which, camera in enumerate(self.cameras)]

    def touch_exactly(self):
        self.touched = [self.exact(camera) | ends for camera, ends in zip(self.cameras, self._ends())]

    def _camera(self, draw, size, focal, lens, around):
        """One that sees the set-up's front and as many marks as can be, five or more where that goes."""
        best, most = None, -1
        for attempt in range(60):
            target = self.setup.tip + np.append(draw.normal(0, 12, 2), 0) + 8 * plan(self.setup.body_deg)
            camera = camera_model.Camera(*size, focal, target, self.distance * (1 + 0.01 * attempt), draw.uniform(30, 50), around,
                                         draw.uniform(-40, 40) + 90 * draw.integers(4), *lens, draw.normal(0, 8, 2))
            seen = sum(self._within(camera, np.column_stack([one, np.zeros(4)])) for one in self.paper.marks.values())
            points = self.setup.points()
            points.pop("tube.rear")
            if seen > most and self._within(camera, np.array(list(points.values()))):
                best, most = camera, seen
            if most >= 5:
                break
        return best or camera

    @staticmethod
    def _within(camera, points):
        spots = camera.project(points)
        return bool(np.all((spots > 20) & (spots < np.array([camera.width, camera.height]) - 20)))

    def exact(self, camera):
        """Pixels of all that is touched, and two places on each edge of the tube."""
        spots = {name: camera.project(one)[0] for name, one in self.setup.points().items()}
        # The tube may run out of the picture: it is touched as far back as it is seen.
        front, rear = self.setup.touched
        for part in np.arange(rear, front + 0.1, -0.05):
            spot = camera.project(self.setup.tube_from + self.setup.along * self.setup.tube_length * part)
            spots["tube.rear"] = spot[0]
            if np.all((spot > 20) & (spot < np.array([camera.width, camera.height]) - 20)):
                break
        for side, sign in (("left", -1), ("right", 1)):
            for end, part in (("front", 0.1), ("rear", 0.5)):
                spots[f"tube.{side}.{end}"] = camera.project(self.setup.tube_edge(camera, part, sign))[0]
        return spots

    def tip_by_known_cameras(self):
        """What the touches alone give: where the rays of the two touches meet best, had the telephones' places and lenses been known."""
        def off(place):
            return np.concatenate([camera.project(place)[0] - spots["tip"] for camera, spots in zip(self.cameras, self.touched)])
        return optimize.least_squares(off, self.setup.tip + 0.5, method="lm").x

    def write(self, paths, crops=False):
        """CROPS: plain paper but for the marks and the set-up, which is quicker."""
        for path, camera in zip(paths, self.cameras):
            light = np.full((camera.height, camera.width), camera_model.PAPER, np.float32)
            boxes = self.boxes(camera) if crops else [((0, 0), (camera.width, camera.height))]
            texture, sizes = self.paper.reduced(max(0.4 * camera.pixel_mm(), self.paper.texel))
            texture = camera_model.DARK + texture * np.float32(camera_model.PAPER - camera_model.DARK)
            for low, high in boxes:
                part = copy.copy(camera)
                part.off, (part.width, part.height) = camera.off - low, np.subtract(high, low)
                light[low[1]:high[1], low[0]:high[0]] = camera_model.photograph_plane(part, texture, sizes)
            paint(light, camera, self.setup.polygons(camera))
            light *= camera_model.shading(camera, self.draw)
            sensor = camera_model.Sensor(self.draw, light.shape, self.noise, self.draw.uniform(0.4, 0.9))
            cv2.imwrite(str(path), sensor.picture(light), [cv2.IMWRITE_JPEG_QUALITY, 92])
        return paths

    def boxes(self, camera):
        """Of each mark that is wholly seen, and of what is touched: first and last pixels, a margin around."""
        groups = [camera.project(np.column_stack([one, np.zeros(4)])) for one in self.paper.marks.values()]
        groups = [one for one in groups if np.all((one > 0) & (one < [camera.width, camera.height]))]
        out = []
        for spots, margin in [(one, 0.3 * np.ptp(one, axis=0).max()) for one in groups] + [(np.array(list(self.exact(camera).values())), 150)]:
            low = np.clip(np.floor(spots.min(axis=0) - margin).astype(int), 0, [camera.width, camera.height])
            out.append((low, np.clip(np.ceil(spots.max(axis=0) + margin).astype(int), low, [camera.width, camera.height])))
        return out

    def truth(self):
        known = self.tip_by_known_cameras() - self.setup.tip
        return self.setup.truth() | {"by known cameras": float(np.hypot(*known[:2])), "distance": [float(np.linalg.norm(camera.place - self.setup.tip)) for camera in self.cameras], "touched": self.touched, "lines": list(self.lines),
                                     "marks": [pose_seen.marks(self.setup, self.paper, camera, edged) for camera in self.cameras],
                                     "exact": [{name: spot.tolist() for name, spot in self.exact(camera).items()} for camera in self.cameras],
                                     "points": {name: (one * [1, 1, -1]).tolist() for name, one in self.setup.points().items()}}
