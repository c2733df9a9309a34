# SPDX-License-Identifier: MIT
"""A film of the program's paper disc on a turning platter, each row of each frame at its own time.

The disc's page is a texture turned about the spindle by the exact angle of music_deck.Deck or of a start (start_model.py). A pixel is the mean of
places in it and moments of its exposure (platter_view.py; exact_light, which is slow, is what that is held against). Frames stand at uneven times,
which are written into the file as they are.
"""
import math
import random

import cv2
import numpy as np
from scipy import interpolate

import camera_model
import music_deck
import music_run
import platter_view
import start_model

KINDS = ("turning", "start", "moved", "flicker", "restamped", "covered")
ODDS = (0.6, 0.15, 0.08, 0.05, 0.07, 0.05)
MEASURED = ("turning", "start")
CLOCK = 50e-6 / 1.96        # by how much the telephone's clock is off, rms: 95 % within 50 ppm (common practice, no source)
PLATTER = 0.04              # of the light that is thrown back beside the paper
BESIDE_MM = 3.0             # beyond the disc's edge that is drawn


class Film:
    """Drawn by a seed; write() renders it."""

    def __init__(self, seed, number, paper, kind=None, seconds=None, size=None):
        draw = self.draw = np.random.default_rng([seed, number, 22])
        self.paper, self.kind = paper, kind or str(draw.choice(KINDS, p=ODDS))
        self.seconds = seconds or draw.uniform(25, 32)
        self.rpm = 100 / 3 if self.kind == "start" else float(draw.choice([100 / 3, 45.0, 78.0], p=[0.7, 0.2, 0.1]))
        self.fps, self.width = float(draw.choice([25, 30, 29.97, 50, 60], p=[0.2, 0.4, 0.15, 0.1, 0.15])), size or int(draw.choice([1280, 1920], p=[0.9, 0.1]))
        self.height = self.width * 9 // 16
        self.readout, self.exposure = draw.choice([0.0, draw.uniform(0.004, 0.02)], p=[0.1, 0.9]), draw.uniform(0.0005, 0.004)
        self.readout = min(self.readout, 0.95 / self.fps)
        self.tilt, self.noise = draw.uniform(0, 35), draw.uniform(1.0, 5.0)
        self.off = draw.normal(0, 0.15, 2)          # mm, the disc's hole on the spindle
        self.stretch = 1 + draw.normal(0, 0.001)    # of the print, along against across
        self.blink = draw.choice([0.0, draw.uniform(0.02, 0.15)]) if self.kind != "flicker" else draw.uniform(0.9, 0.98)
        self.mains, self.container = draw.choice([100, 120]), str(draw.choice(["mp4", "mkv"], p=[0.85, 0.15]))
        self.cameras = [camera_model.draw_phone(draw, self.width, self.height, (0.0, 0.0), paper.cut, self.tilt)]
        self.bend = int(draw.integers(3, 7))        # how much is covered
        self._draw_course()
        self._draw_times(seed, number)
        self._draw_move()

    def _draw_course(self):
        draw = self.draw
        if self.kind == "start":
            number = int(draw.integers(1 << 30)) * len(start_model.KINDS) + int(draw.choice([0, 2, 6, 7, 8]))
            self.start = start_model.Start(random.Random(f"film {number}"), number)
            self.seconds = self.start.seconds
            passed = np.concatenate([[0.0], np.cumsum((self.start.course[1:] + self.start.course[:-1]) / 2)]) * start_model.STEP
            self.passed = interpolate.CubicSpline(self.start.t, passed)
            return
        once = draw.choice([0.0, math.exp(draw.uniform(math.log(0.02), math.log(0.4)))], p=[0.2, 0.8])
        self.deck = music_deck.Deck(self.rpm, draw.normal(0, 0.6), draw.normal(0, 0.02), music_run.draw_lines(draw, once), draw.uniform(0.001, 0.006),
                                    int(draw.integers(1 << 40)))
        u, passed = self.deck.times(0.0, (self.seconds + 1) * (1.05 + self.deck.error / 100))
        self.passed = interpolate.CubicSpline(passed, u)

    def _draw_times(self, seed, number):
        """When each frame begins, and what the file says of it."""
        draw, count = self.draw, int(self.seconds * self.fps)
        times = (np.arange(count) + draw.uniform(-0.05, 0.05, count)) / (self.fps * (1 + draw.normal(0, 1e-3)))
        times -= times[0]
        self.clock, self.gone = np.random.default_rng([seed, number, 225]).normal(0, CLOCK), np.zeros(count, bool)
        if self.kind == "restamped" or self.kind == "turning" and draw.random() < 0.3:
            self.gone[draw.integers(1, count, int(draw.integers(1, 6)))] = True
            burst = int(draw.integers(1, count - 40))
            self.gone[burst:burst + int(draw.integers(0, 15) if self.kind == "turning" else draw.integers(8, 40))] = True
        self.times = times[~self.gone]
        self.stamps = (self.times if self.kind != "restamped" else np.arange(self.times.size) / self.fps) * (1 + self.clock)

    def _draw_move(self):
        """A second camera for the film's rest where the telephone is knocked."""
        if self.kind != "moved":
            return
        draw, first = self.draw, self.cameras[0]
        self.moved_at = draw.uniform(0.3, 0.7) * self.seconds
        second = camera_model.Camera(first.width, first.height, first.focal, (0.0, 0.0), 1.0, k1=first.k1, k2=first.k2)
        second.off, second.place = first.off, first.place + draw.normal(0, 4, 3)
        turn, _ = cv2.Rodrigues(np.radians(draw.choice([-1, 1]) * draw.uniform(1, 3)) * np.array([0.1, 0.1, 1.0]))
        second.turn = turn @ first.turn
        self.cameras.append(second)

    def angle(self, times):
        """Of the platter, clockwise from above, radians."""
        return 2 * np.pi * self.passed(times) * self.rpm / 60

    def _texture(self, share):
        """The disc cut out, on a dark platter; its texel's sizes (a SHARE of the smallest pixel) and its middle."""
        picture, sizes = self.paper.reduced(share * self.cameras[0].pixel_mm())
        light = np.float32(camera_model.DARK) + picture * np.float32(camera_model.PAPER - camera_model.DARK)
        y, x = np.ogrid[:light.shape[0], :light.shape[1]]
        dx, dy = (x + 0.5) * sizes[0] - self.paper.middle[0], (y + 0.5) * sizes[1] - self.paper.middle[1]
        if self.kind == "covered":
            light[(np.arctan2(dy, dx) + np.pi) / (2 * np.pi) * 12 < 12 - 0.5 * self.bend] = 0.3
        light[dx ** 2 + dy ** 2 > self.paper.cut ** 2] = PLATTER
        light[dx ** 2 + dy ** 2 < 3.6 ** 2] = 0.5       # the spindle's end
        return light, sizes

    def part(self, camera):
        """Of the picture, in which the disc lies."""
        near = np.linalg.norm(camera.on_paper(camera.grid()), axis=-1) < self.paper.cut + BESIDE_MM
        rows, columns = np.nonzero(near.any(axis=1))[0], np.nonzero(near.any(axis=0))[0]
        return np.s_[rows[0]:rows[-1] + 1, columns[0]:columns[-1] + 1]

    @staticmethod
    def _maps(camera, part, places):
        """For each place in a pixel x and y about the spindle, mm."""
        spots = (camera.on_paper(camera.grid(place)[part]).astype(np.float32) for place in places)
        return [(np.ascontiguousarray(spot[..., 0]), np.ascontiguousarray(spot[..., 1])) for spot in spots]

    def _rows(self, part):
        """When each row of the part begins after the frame does, s."""
        return np.arange(*part[0].indices(self.height)) / self.height * self.readout

    def exact_light(self, time, camera, part, places, moments):
        """What falls on the disc's part of the sensor in the frame that begins at TIME: the mean of PLACES in a pixel at MOMENTS of the exposure."""
        texture, sizes = self._texture(0.2)
        rows, out = self._rows(part), 0
        for (x, y), moment in zip(self._maps(camera, part, places), moments):
            when = time + rows + moment * self.exposure
            angle = self.angle(when)[:, None]
            c, s = np.cos(angle), np.sin(angle)
            # From the turning platter's place to the page's texel: turned back, off the spindle, stretched.
            kx, ky = 1 / sizes[0], self.stretch ** -1 / sizes[1]
            ox = (self.paper.middle[0] - self.off[0]) / sizes[0] - 0.5
            oy = (self.paper.middle[1] - self.off[1] / self.stretch) / sizes[1] - 0.5
            u = (c * kx).astype(np.float32) * x + (s * kx).astype(np.float32) * y + np.float32(ox)
            v = (-s * ky).astype(np.float32) * x + (c * ky).astype(np.float32) * y + np.float32(oy)
            some = cv2.remap(texture, u, v, cv2.INTER_LINEAR, borderMode=cv2.BORDER_CONSTANT, borderValue=PLATTER)
            lamp = 1 - self.blink * (0.5 + 0.5 * np.cos(2 * np.pi * self.mains * when))
            out = out + some * lamp[:, None].astype(np.float32)
        return out / len(places)

    def unrolled(self):
        hole = self.paper.middle - self.off / [1, self.stretch]
        return platter_view.Unrolled(*self._texture(0.2), hole, self.stretch, self.paper.cut + BESIDE_MM, platter_view.FINE * self.cameras[0].pixel_mm(),
                                     PLATTER)

    def view(self, unrolled, camera, part):
        return platter_view.View(unrolled, [self._maps(camera, part, pair) for pair in platter_view.PLACES])

    def light(self, time, view, part):
        """The same as exact_light, by a VIEW of the camera."""
        begins = time + self._rows(part)
        half = self.angle(time + self.exposure / 2) - self.angle(time)
        return view.light([self.angle(begins + share * self.exposure) for share in (0.25, 0.75)], self._lamp(begins), half)

    def _lamp(self, begins):
        """What either half of the exposure of rows that begin so weighs."""
        return platter_view.lamp_weights(self.blink, self.mains, begins, self.exposure)

    def frames(self):
        """(time in the file, picture)."""
        shade = camera_model.shading(self.cameras[0], self.draw)
        sensor = camera_model.Sensor(self.draw, shade.shape, self.noise, self.draw.uniform(0.4, 0.9))
        unrolled, beside, all_rows = self.unrolled(), camera_model.tone(PLATTER * shade), np.s_[0:self.height,]
        current, view, part = None, None, None
        for time, stamp in zip(self.times, self.stamps):
            camera = self.cameras[-1] if self.kind == "moved" and time > self.moved_at else self.cameras[0]
            if camera is not current:
                current, part = camera, self.part(camera)
                view = self.view(unrolled, camera, part)
            lamp = camera_model.tone(sum(self._lamp(time + self._rows(all_rows)))).astype(np.float32)[:, None]
            grey = beside * lamp / 255 if self.blink else beside.copy()      # powers of products
            grey[part] = camera_model.tone(sensor.blurred(self.light(time, view, part) * shade[part]))
            yield stamp, sensor.developed(grey)

    def write(self, path):
        path = path.with_suffix("." + self.container)
        write_film(path, self.frames(), self.width, self.height, 9000 if self.width > 1280 else 5000)
        return path

    def truth(self):
        told = {"kind": self.kind, "rpm": self.rpm, "fps": self.fps, "readout": self.readout, "exposure": self.exposure, "tilt": self.tilt,
                "seconds": self.seconds, "dropped": int(self.gone.sum()), "container": self.container, "width": self.width,
                "clock": self.clock}
        if self.kind == "start":
            return told | {"case": self.start.kind} | {key: value for key, value in self.start.truth().items() if value is not None}
        g = np.arange(0, float(self.passed(self.times[-1])), 0.005)
        return told | {"speed.error": self.deck.mean(g), "by the clock": (100 + self.deck.mean(g)) / (1 + self.clock) - 100, "speed.drift": self.deck.trend(g) * (1 + self.deck.error / 100),
                       "revolution.amplitude": abs(self.deck.vector()), "lines": self.deck.lines}


def write_film(path, frames, width, height, kilobits):
    """H.264 by GStreamer, each frame with its own time; MP4 to 1/90000 s, Matroska to 1 ms."""
    import gi
    gi.require_version("Gst", "1.0")
    from gi.repository import Gst
    Gst.init(None)
    mux = "matroskamux" if path.suffix == ".mkv" else "mp4mux"
    line = Gst.parse_launch(f"appsrc name=in format=time block=true max-bytes=40000000 caps=video/x-raw,format=GRAY8,width={width},height={height},framerate=0/1"
                            f" ! videoconvert ! video/x-raw,format=I420 ! x264enc speed-preset=ultrafast tune=zerolatency bitrate={kilobits} key-int-max=60"
                            f" ! video/x-h264,stream-format=avc ! {mux} name=mux ! filesink location={path}")
    if mux == "mp4mux":
        line.get_by_name("mux").sinkpads[0].set_property("trak-timescale", 90000)
    source = line.get_by_name("in")
    line.set_state(Gst.State.PLAYING)
    for stamp, picture in frames:
        buffer = Gst.Buffer.new_wrapped(picture.tobytes())
        buffer.duration = Gst.SECOND // 30
        buffer.pts = round(stamp * 90000) * Gst.SECOND // 90000
        if source.emit("push-buffer", buffer) != Gst.FlowReturn.OK:
            break
    source.emit("end-of-stream")
    message = line.get_bus().timed_pop_filtered(Gst.CLOCK_TIME_NONE, Gst.MessageType.EOS | Gst.MessageType.ERROR)
    line.set_state(Gst.State.NULL)
    if message.type == Gst.MessageType.ERROR:
        raise RuntimeError(message.parse_error())
    return path
