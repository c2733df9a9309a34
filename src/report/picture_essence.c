// SPDX-License-Identifier: MIT
#include "report/picture_essence.h"

#include <stdint.h>
#include <string.h>

// Parts beside the pixels themselves, scans of a JPEG that comes clearer and
// clearer, bytes of one part. A camera's JPEG has some twenty parts; the usual
// script for a progressive one has ten scans.
enum { PARTS_MOST = 1000, SCANS_MOST = 100, PART_BYTES_MOST = 1 << 20, BLOCK = 65536 };

typedef struct {
    FILE *file;
    DwPictureTake take;
    void *user;
    unsigned parts, scans;
    bool held;  // how the camera was held was handed over
    bool ended; // the file
} Essence;

// Reads up to LENGTH bytes. Fewer come at the end of the file.
static size_t get(Essence *essence, unsigned char *bytes, size_t length)
{
    size_t got = fread(bytes, 1, length, essence->file);
    essence->ended = got < length;
    return got;
}

// Goes on by LENGTH bytes, which are handed over when KEPT.
static bool pass(Essence *essence, uint64_t length, bool kept)
{
    unsigned char block[BLOCK];
    while (length > 0 && !essence->ended) {
        size_t got = get(essence, block, length < sizeof block ? (size_t)length : sizeof block);
        if (kept && got && !essence->take(essence->user, block, got))
            return false;
        length -= got;
    }
    return true;
}

// PNG: ISO/IEC 15948:2004, 4.7. The four that every decoder must know, and of the
// others what changes the colours or tells how it was held.
static bool is_chunk_kept(const unsigned char *name)
{
    static const char kept[][5] = {"IHDR", "PLTE", "IDAT", "IEND", "tRNS", "gAMA", "cHRM", "sRGB", "sBIT", "eXIf"};
    for (size_t i = 0; i < sizeof kept / sizeof *kept; i++)
        if (memcmp(name, kept[i], 4) == 0)
            return true;
    return false;
}

static bool pass_chunk(Essence *essence, const unsigned char *head, size_t head_length)
{
    enum { CHECK = 4 };
    uint64_t length = (uint64_t)head[0] << 24 | (uint64_t)head[1] << 16 | (uint64_t)head[2] << 8 | head[3];
    bool kept = is_chunk_kept(head + 4), pixels = memcmp(head + 4, "IDAT", 4) == 0;
    if (!kept)
        return pass(essence, length + CHECK, false);
    if (!pixels && (++essence->parts > PARTS_MOST || length > PART_BYTES_MOST))
        return false;
    return essence->take(essence->user, head, head_length) && pass(essence, length + CHECK, true);
}

static bool pass_chunks(Essence *essence)
{
    unsigned char head[8]; // the length, the name
    while (get(essence, head, sizeof head) == sizeof head) {
        if (!pass_chunk(essence, head, sizeof head))
            return false;
        if (memcmp(head + 4, "IEND", 4) == 0)
            break; // what hangs on behind is no part of it
    }
    return true;
}

enum { SCAN = 0xDA, END = 0xD9, FIRST_APP = 0xE0, HELD = 0xE1, ADOBE = 0xEE, LAST_APP = 0xEF, COMMENT = 0xFE };

// JPEG: ITU-T T.81 (1992), annex B. Of what applications add, how the camera was
// held (Exif, once) and what tells the colours (JFIF, Adobe).
static bool is_segment_kept(Essence *essence, int marker, const unsigned char *beginning, size_t length)
{
    bool exif = marker == HELD && length >= 6 && memcmp(beginning, "Exif\0\0", 6) == 0 && !essence->held;
    essence->held |= exif;
    return marker == FIRST_APP || marker == ADOBE || exif ||
           ((marker < FIRST_APP || marker > LAST_APP) && marker != COMMENT);
}

// A marker with its length and what follows it.
static bool pass_segment(Essence *essence, int marker)
{
    enum { LENGTH = 2, BEGINNING = 6 };
    unsigned char bytes[2 + LENGTH + BEGINNING] = {0xFF, (unsigned char)marker};
    if (get(essence, bytes + 2, LENGTH) < LENGTH)
        return true;
    size_t length = (size_t)bytes[2] << 8 | bytes[3];
    if (length < LENGTH)
        return false;
    length -= LENGTH;
    size_t got = get(essence, bytes + 4, length < BEGINNING ? length : BEGINNING);
    bool kept = is_segment_kept(essence, marker, bytes + 4, got);
    if (!kept)
        return pass(essence, length - got, false);
    if (++essence->parts > PARTS_MOST || (marker == SCAN && ++essence->scans > SCANS_MOST))
        return false;
    return essence->take(essence->user, bytes, 4 + got) && pass(essence, length - got, true);
}

// Bytes on their way to the taker.
typedef struct {
    unsigned char bytes[BLOCK];
    size_t length;
} Block;

static bool hand_over(Essence *essence, Block *block)
{
    size_t length = block->length;
    block->length = 0;
    return length == 0 || essence->take(essence->user, block->bytes, length);
}

static bool put(Essence *essence, Block *block, int byte)
{
    if (block->length == sizeof block->bytes && !hand_over(essence, block))
        return false;
    block->bytes[block->length++] = (unsigned char)byte;
    return true;
}

// What stands alone: a stuffed byte, a restart, the beginning.
static bool is_alone(int marker)
{
    return marker == 0 || marker == 1 || (marker >= 0xD0 && marker <= 0xD8);
}

static bool pass_markers(Essence *essence)
{
    Block block = {.length = 0};
    int byte;
    bool fine = true;
    while (fine && (byte = getc_unlocked(essence->file)) != EOF) {
        int marker = byte == 0xFF ? getc_unlocked(essence->file) : 0;
        while (marker == 0xFF) // filling
            marker = getc_unlocked(essence->file);
        if (byte != 0xFF)
            fine = put(essence, &block, byte);
        else if (marker == EOF || is_alone(marker) || marker == END)
            fine = put(essence, &block, byte) && (marker == EOF || put(essence, &block, marker));
        else
            fine = hand_over(essence, &block) && pass_segment(essence, marker);
        if (byte == 0xFF && marker == END)
            break; // what hangs on behind is no part of it
    }
    return fine && hand_over(essence, &block);
}

bool dw_picture_essence(FILE *file, DwPictureTake take, void *user)
{
    Essence essence = {.file = file, .take = take, .user = user};
    unsigned char head[8];
    static const unsigned char png[] = {0x89, 'P', 'N', 'G', '\r', '\n', 0x1A, '\n'};
    size_t got = get(&essence, head, sizeof head);
    if (got == sizeof head && memcmp(head, png, sizeof png) == 0)
        return take(user, head, sizeof head) && pass_chunks(&essence);
    rewind(file);
    return pass_markers(&essence);
}
