# SPDX-License-Identifier: MIT
"""Films as OpenCV reads them."""
import cv2


def frames_of(path):
    """(time in s, grey picture) of each frame."""
    film, frames = cv2.VideoCapture(str(path)), []
    while True:
        there, frame = film.read()
        if not there:
            return frames
        frames.append((film.get(cv2.CAP_PROP_POS_MSEC) / 1000, cv2.cvtColor(frame, cv2.COLOR_BGR2GRAY)))
