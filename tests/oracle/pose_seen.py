# SPDX-License-Identifier: MIT
"""What of a set-up over a paper each telephone sees: stretches of straight lines before which nothing stands, and whole marks.

A technician touches what is seen. Of the cartridge's two upper sides, which the headshell hides from here or from there, that one is touched of which
the picture that shows the least shows the most.
"""
import cv2
import numpy as np

PLACES = 61                 # along a line that are looked at
EDGE_PX = 20                # of the picture, that close nothing is touched
DEEP_PX = 1.0               # so far within an outline is hidden
LEAST = 0.15                # of a line, of which less is not touched
INSET = 0.02                # of a line, that touches keep from where it is lost from sight
ORDER = {"tube": 0, "cantilever": 1, "body": 2, "headshell": 3}     # as they are painted: what is later hides what is earlier


def outlines(setup, camera, edged):
    """Of each solid, the hindmost first, the outlines of its faces in pixels."""
    return [[edged(camera, ring).astype(np.float32)[:, None, :] for ring, _ in faces] for faces in setup.polygons(camera)]


def hidden(spot, solids):
    return any(cv2.pointPolygonTest(ring, (float(spot[0]), float(spot[1])), True) > DEEP_PX for faces in solids for ring in faces)


def stretch(front, rear, camera, solids):
    """The longest stretch from FRONT to REAR (shares) that the camera sees before SOLIDS; None where it is too short."""
    shares = np.linspace(0, 1, PLACES)
    spots = camera.project(front + shares[:, None] * (rear - front))
    size = np.array([camera.width, camera.height])
    best, begin = (0.0, 0.0), None
    for share, spot in zip(shares, spots):
        if not np.all((spot > EDGE_PX) & (spot < size - EDGE_PX)) or hidden(spot, solids):
            begin = None
            continue
        begin = share if begin is None else begin
        best = max(best, (begin, share), key=lambda one: one[1] - one[0])
    first, last = best
    first, last = first + (INSET if first > 0 else 0), last - (INSET if last < 1 else 0)
    return (first, last) if last - first >= LEAST else None


def candidates(setup):
    """Of each line that can be touched its front and its rear end; of a solid with two sides both."""
    front, rear = (setup.tube_from + setup.along * setup.tube_length * part for part in setup.touched)
    return {"cantilever": [(setup.tip, setup.on_cantilever(0.7))], "tube": [(front, rear)],
            "body": [(setup.body[4], setup.body[7]), (setup.body[5], setup.body[6])],
            "headshell": [(setup.headshell[4], setup.headshell[7]), (setup.headshell[5], setup.headshell[6])]}


def lines(setup, cameras, edged):
    """Of each line that every telephone sees enough of, the places that are touched: front and rear, for each telephone."""
    solids, found = [outlines(setup, camera, edged) for camera in cameras], {}
    for name, sides in candidates(setup).items():
        most = 0
        for front, rear in sides:
            seen = [stretch(front, rear, camera, each[ORDER[name] + 1:]) for camera, each in zip(cameras, solids)]
            least = min(last - first for first, last in seen) if all(seen) else 0
            if least > most:
                most = least
                found[name] = [(front + first * (rear - front), front + last * (rear - front)) for first, last in seen]
    return found


def marks(setup, paper, camera, edged):
    """How many marks lie wholly in the picture, with nothing before them."""
    solids, size, count = outlines(setup, camera, edged), np.array([camera.width, camera.height]), 0
    for corners in paper.marks.values():
        u, v = np.meshgrid(np.linspace(0, 1, 7), np.linspace(0, 1, 7))
        u, v = u.reshape(-1, 1), v.reshape(-1, 1)
        places = (1 - v) * ((1 - u) * corners[0] + u * corners[1]) + v * ((1 - u) * corners[3] + u * corners[2])
        spots = camera.project(np.column_stack([places, np.zeros(len(places))]))
        count += bool(np.all((spots > 0) & (spots < size))) and not any(hidden(spot, solids) for spot in spots)
    return count
