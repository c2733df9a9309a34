#!/usr/bin/env python3
# SPDX-License-Identifier: MIT
"""The same take in every format that a technician brings: its speed is the one that was synthesised.

Files are written by sox, by GStreamer's encoders or byte by byte here, never by the program itself.
"""
import json
import pathlib
import shutil
import struct
import subprocess
import sys
import tempfile

from support import Tap, run

ERROR_PERCENT = 0.31
LOSSLESS_PPM, LOSSY_PPM = 5, 50
VIDEO = ("avenc_aac bitrate=192000 ! queue ! mux.  videotestsrc num-buffers=225 ! "
         "video/x-raw,width=160,height=120,framerate=15/1 ! jpegenc ! queue ! qtmux name=mux")
# Name, sampling rate, channels, the writer's own words, greatest error in ppm.
FILES = [
    ("16.wav", 44100, 2, "sox -b 16 -e signed", LOSSLESS_PPM), ("24.wav", 96000, 2, "sox -b 24 -e signed", LOSSLESS_PPM),
    ("32.wav", 48000, 1, "sox -b 32 -e signed", LOSSLESS_PPM), ("float.wav", 192000, 2, "sox -b 32 -e float", LOSSLESS_PPM),
    ("8k.wav", 8000, 1, "sox -b 16 -e signed", LOSSLESS_PPM), ("11k.wav", 11025, 2, "sox -b 16 -e signed", LOSSLESS_PPM),
    ("22k.wav", 22050, 1, "sox -b 24 -e signed", LOSSLESS_PPM), ("88k.wav", 88200, 2, "sox -b 24 -e signed", LOSSLESS_PPM),
    ("long.rf64", 48000, 2, "rf64", LOSSLESS_PPM),
    ("take.flac", 96000, 2, "sox -b 24", LOSSLESS_PPM), ("16.flac", 44100, 1, "sox -b 16", LOSSLESS_PPM),
    ("take.aiff", 48000, 2, "sox -b 24", LOSSLESS_PPM),
    ("take.ogg", 48000, 2, "sox -C 6", LOSSY_PPM),
    ("take.mp3", 44100, 2, "gst lamemp3enc target=bitrate bitrate=192", LOSSY_PPM),
    ("take.m4a", 48000, 2, "gst avenc_aac bitrate=192000 ! mp4mux", LOSSY_PPM),
    ("mono.m4a", 44100, 1, "gst avenc_aac bitrate=128000 ! mp4mux", LOSSY_PPM),
    ("take.aac", 48000, 2, "gst avenc_aac bitrate=192000 ! aacparse ! audio/mpeg,stream-format=adts", LOSSY_PPM),
    ("take.opus", 48000, 2, "gst opusenc bitrate=160000 ! oggmux", LOSSY_PPM),
    ("video.mp4", 48000, 2, "gst " + VIDEO, LOSSY_PPM),
]


def to_rf64(wav):
    """Source (published): EBU Tech 3306 (2007): the lengths stand in a ds64 chunk behind the head."""
    data = wav.index(b"data", 12)
    size = len(wav) - data - 8
    sizes = struct.pack("<4sIQQQI", b"ds64", 28, len(wav) + 28, size, size // 6, 0)
    return b"RF64\xff\xff\xff\xffWAVE" + sizes + wav[12:data] + b"data\xff\xff\xff\xff" + wav[data + 8:]


def write(encode, source, path, words):
    """Writes SOURCE in another format. Returned: why not, or ''."""
    writer, _, options = words.partition(" ")
    if writer == "rf64":
        path.write_bytes(to_rf64(source.read_bytes()))
        return ""
    if writer == "sox":
        if not shutil.which("sox"):
            return "sox is not installed"
        done = subprocess.run(["sox", "-D", source, *options.split(), path], stderr=subprocess.PIPE, check=False)
        return done.stderr.decode() if done.returncode else ""
    done = subprocess.run([encode, source, path, options], stdout=subprocess.PIPE, check=False)
    if done.returncode not in (0, 77):
        raise RuntimeError(f"{path.name} could not be made: {done.stdout.decode()}")
    return done.stdout.decode().strip() or "no such encoder" if done.returncode else ""


def check(program, folder, name, most_ppm):
    status, out, err = run(program, ["speed", name, "--json", "record.tone=3150Hz"], folder)
    if status not in (0, 3) or err:
        return f"exit {status}: {err}"
    readings = {reading["key"]: reading["value"] for reading in json.loads(out)["readings"]}
    off_ppm = (readings["tone.frequency"] / (3150 * (1 + ERROR_PERCENT / 100)) - 1) * 1e6
    print(f"# {name}: {off_ppm:+.3f} ppm")
    return "" if abs(off_ppm) <= most_ppm else f"the speed is off by {off_ppm:.2f} ppm of {most_ppm}"


def main(program, encode):
    tap = Tap()
    with tempfile.TemporaryDirectory() as name:
        folder = pathlib.Path(name)
        for name, rate, channels, words, most_ppm in FILES:
            source = folder / f"{rate}-{channels}.wav"
            if not source.exists():
                run(program, ["synth", source.name, "synth.length=15s", f"fault.speed_error={ERROR_PERCENT}%",
                              "fault.wow=0.1%", f"synth.rate={rate}", f"synth.channels={channels}"], folder)
            reason = write(encode, source, folder / name, words)
            what = f"{name}, {rate} Hz, {channels} channel{'s' * (channels > 1)}"
            if reason:
                tap.skip(what, reason)
            else:
                tap.say(what, check(program, folder, name, most_ppm))
    return tap.end()


if __name__ == "__main__":
    sys.exit(main(*sys.argv[1:]))
