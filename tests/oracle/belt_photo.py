# SPDX-License-Identifier: MIT
"""A photograph of a belt that lies on the program's printed card, its inner length known exactly.

The inner contour is a smooth closed curve (a circle with a few harmonics), scaled to the length drawn; the band grows outwards by its width, a
hump adds to it. Flat rubber, seen from above with some tilt.
"""
import cv2
import numpy as np

import camera_model
import pose

MARGIN = 3.0                # mm that it keeps from the marks
RUBBER = 0.03
RULER_MM = 0.15


class Belt:
    """Drawn by a seed; write() renders it."""

    def __init__(self, seed, number, paper, size=(4000, 3000)):
        draw = self.draw = np.random.default_rng([seed, number, 221])
        self.paper = paper
        low, high = paper.box
        inside = (high - low) / 2 - paper.edge - MARGIN
        self.width = draw.uniform(2.5, 6.0)
        self.hump = draw.choice([0.0, draw.uniform(0.15, 0.4)], p=[0.4, 0.6])        # of the width
        self.hump_at, self.hump_mm = draw.uniform(0, 1), draw.uniform(4, 9)
        self.uneven = draw.uniform(0, 0.03)
        t = np.linspace(0, 2 * np.pi, 20001)
        shape = 1 + sum(draw.normal(0, 0.12 / k ** 1.5) * np.cos(k * t + draw.uniform(0, 6.28)) for k in range(2, 6))
        curve = np.stack([shape * np.cos(t) * draw.uniform(0.8, 1), shape * np.sin(t)], axis=1) * inside
        curve -= (curve.max(axis=0) + curve.min(axis=0)) / 2
        room = np.min((inside - 1.5 * self.width) / np.abs(curve).max(axis=0))
        curve *= room * draw.uniform(0.75, 1.0)
        self.inner = curve + (low + high) / 2
        self.length = float(np.sum(np.linalg.norm(np.diff(self.inner, axis=0), axis=1)))
        reach = float(np.linalg.norm(high - low)) / 2
        tilt = draw.uniform(0, 25)
        self.camera = camera_model.draw_phone(draw, *size, (low + high) / 2, reach, tilt, filled=(1.0, 1.2))
        # The page as it was printed: it is 100 mm by its rulers to what a user reads there, 95 % within RULER_MM.
        printed = np.random.default_rng([seed, number, 224])
        self.scale = 1 + printed.normal(0, 0.004)
        self.stated = self.scale + printed.normal(0, RULER_MM / 100 / 1.96)
        self.noise = draw.uniform(1.0, 5.0)

    def outer(self):
        """The outer contour, and where along the inner one the hump stands, mm."""
        step = np.gradient(self.inner[:-1], axis=0)
        step[0], step[-1] = self.inner[1] - self.inner[-2], self.inner[0] - self.inner[-3]
        normal = np.stack([step[:, 1], -step[:, 0]], axis=1) / np.linalg.norm(step, axis=1, keepdims=True)
        along = np.concatenate([[0], np.cumsum(np.linalg.norm(np.diff(self.inner, axis=0), axis=1))])[:-1]
        away = (along - self.hump_at * self.length + self.length / 2) % self.length - self.length / 2
        width = self.width * (1 + self.uneven * np.sin(2 * np.pi * along / self.length * 3)
                              + self.hump * np.exp(-0.5 * (away / (self.hump_mm / 2)) ** 2))
        return self.inner[:-1] + normal * width[:, None], self.inner[int(np.argmin(np.abs(away)))]

    def write(self, path):
        texture = camera_model.DARK + self.paper.texture * np.float32(camera_model.PAPER - camera_model.DARK)
        outer, _ = self.outer()
        low, high = (np.array(spot) for spot in (outer.min(axis=0) / self.paper.texel - 3, outer.max(axis=0) / self.paper.texel + 4))
        low, high = np.maximum(low.astype(int), 0), high.astype(int)
        about = np.s_[low[1]:high[1], low[0]:high[0]]
        plain = texture[about].copy()
        beyond, within = (pose.filled(plain.shape, contour / self.paper.texel - 0.5 - low) for contour in (outer, self.inner[:-1]))
        band = plain + beyond * (np.float32(RUBBER) - plain)
        texture[about] = band + within * (plain - band)
        wanted = 0.4 * self.camera.pixel_mm()
        new = [max(1, round(size * self.paper.texel / wanted)) for size in texture.shape[::-1]]
        sizes = [size * self.paper.texel / count for size, count in zip(texture.shape[::-1], new)]
        light = camera_model.photograph_plane(self.camera, cv2.resize(texture, new, interpolation=cv2.INTER_AREA), sizes)
        light *= camera_model.shading(self.camera, self.draw)
        sensor = camera_model.Sensor(self.draw, light.shape, self.noise, self.draw.uniform(0.4, 0.9))
        cv2.imwrite(str(path), sensor.picture(light), [cv2.IMWRITE_JPEG_QUALITY, 92])
        return path

    def truth(self):
        _, place = self.outer()
        return {"length": self.scale * self.length, "width": self.scale * self.width, "hump": self.hump, "hump_at": place.tolist() if self.hump else None}
