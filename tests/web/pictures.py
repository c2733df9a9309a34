# SPDX-License-Identifier: MIT
"""Pictures made from nothing, so that every byte of them is known."""
import struct
import zlib


def segment(marker, content):
    return bytes([0xFF, marker]) + struct.pack(">H", len(content) + 2) + content


def exif(orientation, words=b""):
    """An EXIF segment that says how the camera was held, and WORDS that nobody but the shop should read.
    Source (published): JEITA CP-3451, tags 0x0112 and 0x010E; from memory."""
    entries = 2 if words else 1
    text = words + b"\0"
    table = struct.pack(">2sHIH", b"MM", 42, 8, entries)
    if words:
        table += struct.pack(">HHII", 0x010E, 2, len(text), 8 + 2 + 12 * entries + 4)
    table += struct.pack(">HHIHH", 0x0112, 3, 1, orientation, 0) + struct.pack(">I", 0) + (text if words else b"")
    return segment(0xE1, b"Exif\0\0" + table)


def jpeg(width, height, grey=lambda x, y: 128, head=b"", padding=0):
    """A grey baseline JPEG whose 8 by 8 blocks are each of one grey. Source (published): ITU-T T.81, from memory; only the
    first coefficient of each is written, with tables of our own."""
    lengths = bytes([0, 0, 0, 12] + [0] * 12) + bytes(range(12))  # twelve codes of four bits
    tables = segment(0xDB, bytes([0]) + bytes([8] * 64))
    tables += segment(0xC4, bytes([0x00]) + lengths) + segment(0xC4, bytes([0x10]) + bytes([1] + [0] * 15) + b"\0")
    frame = segment(0xC0, struct.pack(">BHHB", 8, height, width, 1) + bytes([1, 0x11, 0]))
    bits, last = [], 0
    for y in range((height + 7) // 8):
        for x in range((width + 7) // 8):
            value = int(grey(x * 8, y * 8)) - 128
            change, last = value - last, value
            size = abs(change).bit_length()
            bits.append(f"{size:04b}")
            if size:
                bits.append(f"{change if change > 0 else change + (1 << size) - 1:0{size}b}")
            bits.append("0")  # the end of the block
    stream = "".join(bits)
    stream += "1" * (-len(stream) % 8)
    data = int(stream, 2).to_bytes(len(stream) // 8, "big").replace(b"\xFF", b"\xFF\0")
    comments = b"".join(segment(0xFE, bytes([i % 251]) * 60000) for i in range(padding))
    return b"\xFF\xD8" + head + comments + tables + frame + segment(0xDA, bytes([1, 1, 0, 0, 63, 0])) + data + b"\xFF\xD9"


def jpeg_sides(content):
    """Width and height as the frame's head says them."""
    at = 2
    while at < len(content):
        marker, length = content[at + 1], struct.unpack(">H", content[at + 2:at + 4])[0]
        if 0xC0 <= marker <= 0xC2:
            height, width = struct.unpack(">HH", content[at + 5:at + 9])
            return width, height
        at += 2 + length
    return None


def png(width, height, rows=None):
    """A PNG with transparent places; without ROWS its head claims what is not there. Source (published): W3C, PNG, from memory."""
    def chunk(kind, content):
        return struct.pack(">I", len(content)) + kind + content + struct.pack(">I", zlib.crc32(kind + content))
    head = chunk(b"IHDR", struct.pack(">IIBBBBB", width, height, 8, 6, 0, 0, 0))
    data = b"".join(b"\0" + bytes(row) for row in rows) if rows is not None else b"\0" * 4096
    return b"\x89PNG\r\n\x1A\n" + head + chunk(b"IDAT", zlib.compress(data)) + chunk(b"IEND", b"")


def drawn_signature():
    """A stroke across a transparent field."""
    rows = [bytes(4 * 300) for _ in range(100)]
    rows[50] = b"\x1A\x24\x40\xFF" * 300
    return png(300, 100, rows)
