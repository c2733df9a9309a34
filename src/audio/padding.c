// SPDX-License-Identifier: MIT
#include "audio/pipeline.h"

#include <stdbool.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>

// A layer III decoder's share of the delay, in the sense of the tag: what is left of 1057 samples when an
// encoder states its own.
enum { MPEG_POLYPHASE = 481, MPEG_LAPPED = 576, MPEG_DECODER = 529, AC3_LAPPED = 256 };
enum { BOXES_MOST = 1000 };

static uint32_t big_endian(const unsigned char *bytes, size_t count)
{
    uint32_t value = 0;
    for (size_t i = 0; i < count; i++)
        value = value << 8 | bytes[i];
    return value;
}

static bool read_at(FILE *file, off_t place, unsigned char *bytes, size_t count)
{
    return fseeko(file, place, SEEK_SET) == 0 && fread(bytes, 1, count, file) == count;
}

// Where the first frame stands: behind an ID3v2 tag, whose length is in sevens of bits.
static off_t first_mpeg_frame(FILE *file)
{
    unsigned char head[10];
    if (!read_at(file, 0, head, sizeof head) || memcmp(head, "ID3", 3) != 0)
        return 0;
    off_t length = 0;
    for (size_t i = 6; i < 10; i++)
        length = length << 7 | (head[i] & 0x7f);
    bool has_footer = head[5] & 0x10;
    return length + (has_footer ? 20 : 10);
}

// Bytes of the first frame of layer III from its head to where a tag stands, in place of the side
// information; 0 when HEAD begins no such frame.
static size_t tag_offset(const unsigned char *head)
{
    if (head[0] != 0xff || (head[1] & 0xe6) != 0xe2)
        return 0;
    bool is_version_1 = (head[1] & 0x18) == 0x18, is_mono = (head[3] & 0xc0) == 0xc0;
    if (is_version_1)
        return is_mono ? 4 + 17 : 4 + 32;
    return is_mono ? 4 + 9 : 4 + 17;
}

// The tag: "Xing" or "Info", which of four fields follow, the fields, the encoder's name in 9
// bytes, 12 bytes of others, then both delays.
static int64_t stated_by_mpeg(FILE *file)
{
    enum { NAME = 9, OTHERS = 12 };
    static const size_t fields[] = {4, 4, 100, 4};
    off_t frame = first_mpeg_frame(file);
    unsigned char head[4], tag[8], rest[NAME + OTHERS + 3];
    if (!read_at(file, frame, head, sizeof head) || tag_offset(head) == 0)
        return -1;
    off_t place = frame + (off_t)tag_offset(head);
    if (!read_at(file, place, tag, sizeof tag) || (memcmp(tag, "Xing", 4) != 0 && memcmp(tag, "Info", 4) != 0))
        return -1;
    place += sizeof tag;
    for (size_t i = 0; i < sizeof fields / sizeof *fields; i++)
        if (tag[7] >> i & 1)
            place += (off_t)fields[i];
    // Without a name nobody wrote delays.
    if (!read_at(file, place, rest, sizeof rest) || rest[0] < ' ' || rest[0] > '~')
        return -1;
    int64_t delay = big_endian(rest + NAME + OTHERS, 3) >> 12;
    return delay > 0 ? delay + MPEG_DECODER : -1;
}

typedef struct {
    off_t from, to; // of what is in it
} Box;

// The first box called NAME within OUTER, whose first SKIP bytes are no boxes. No sound file has BOXES_MOST.
static bool find_box(FILE *file, Box outer, off_t skip, const char *name, Box *found)
{
    off_t place = outer.from + skip;
    for (int i = 0; i < BOXES_MOST && place + 8 <= outer.to; i++) {
        unsigned char head[16];
        if (!read_at(file, place, head, 8))
            return false;
        uint64_t length = big_endian(head, 4);
        off_t begin = place + 8;
        if (length == 1 && read_at(file, begin, head + 8, 8)) {
            length = (uint64_t)big_endian(head + 8, 4) << 32 | big_endian(head + 12, 4);
            begin += 8;
        }
        if (length == 0) // to the end
            length = (uint64_t)(outer.to - place);
        if (length < (uint64_t)(begin - place) || length > (uint64_t)(outer.to - place))
            return false;
        if (memcmp(head + 4, name, 4) == 0) {
            *found = (Box){begin, place + (off_t)length};
            return true;
        }
        place += (off_t)length;
    }
    return false;
}

// The words of one item of the metadata: hexadecimal numbers, the second of them the priming.
static int64_t priming_in(FILE *file, Box item)
{
    static const char key[] = "iTunSMPB";
    unsigned char name[64] = {0};
    char words[64] = {0};
    Box part;
    if (!find_box(file, item, 0, "name", &part) || part.to - part.from != 4 + (off_t)strlen(key) ||
        !read_at(file, part.from + 4, name, strlen(key)) || memcmp(name, key, strlen(key)) != 0)
        return -1;
    if (!find_box(file, item, 0, "data", &part) || part.to - part.from < 8 + 26 ||
        !read_at(file, part.from + 8, (unsigned char *)words, 26))
        return -1;
    unsigned zero, priming;
    return sscanf(words, "%8x %8x", &zero, &priming) == 2 && priming > 0 && priming < 1u << 16 ? (int64_t)priming : -1;
}

static int64_t stated_by_mp4(FILE *file)
{
    unsigned char head[8];
    if (!read_at(file, 0, head, sizeof head) || memcmp(head + 4, "ftyp", 4) != 0 || fseeko(file, 0, SEEK_END) != 0)
        return -1;
    Box box = {0, ftello(file)};
    static const struct {
        const char *name;
        off_t skip;
    } way[] = {{"moov", 0}, {"udta", 0}, {"meta", 0}, {"ilst", 4}};
    for (size_t i = 0; i < sizeof way / sizeof *way; i++)
        if (!find_box(file, box, way[i].skip, way[i].name, &box))
            return -1;
    Box item;
    while (find_box(file, box, 0, "----", &item)) {
        int64_t priming = priming_in(file, item);
        if (priming >= 0)
            return priming;
        box.from = item.to;
    }
    return -1;
}

int64_t dw_padding_stated(const char *path)
{
    FILE *file = fopen(path, "rbe");
    if (!file)
        return -1;
    int64_t frames = stated_by_mp4(file);
    if (frames < 0)
        frames = stated_by_mpeg(file);
    fclose(file);
    return frames;
}

int64_t dw_padding_of_codec(const GstCaps *caps, int64_t first_frames)
{
    const GstStructure *kind = gst_caps_get_structure(caps, 0);
    int version = 0, layer = 0;
    if (gst_structure_has_name(kind, "audio/x-ac3") || gst_structure_has_name(kind, "audio/x-eac3"))
        return AC3_LAPPED;
    if (!gst_structure_has_name(kind, "audio/mpeg") || !gst_structure_get_int(kind, "mpegversion", &version))
        return 0;
    if (version == 2 || version == 4)
        return first_frames;
    gst_structure_get_int(kind, "layer", &layer);
    return layer == 3 ? MPEG_POLYPHASE + MPEG_LAPPED : MPEG_POLYPHASE;
}
