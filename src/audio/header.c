// SPDX-License-Identifier: MIT
#include "audio/header.h"

#include <errno.h>
#include <fcntl.h>
#include <stdio.h>
#include <string.h>
#include <sys/stat.h>
#include <unistd.h>

DwStatus dw_header_check(const char *path, DwMessage *message)
{
    struct stat about;
    if (stat(path, &about) != 0) {
        if (errno == ENOENT)
            return dw_fail(message, DW_BAD_INPUT, "%s: there is no such file. Check the name and the folder.", path);
        return dw_fail(message, DW_BAD_INPUT, "%s: cannot be found (%s). Check the name and the folder.", path,
                       strerror(errno));
    }
    if (S_ISDIR(about.st_mode))
        return dw_fail(message, DW_BAD_INPUT, "%s: this is a folder. Name a recording in it.", path);
    // A pipe or a device would be waited for without end.
    if (!S_ISREG(about.st_mode))
        return dw_fail(message, DW_BAD_INPUT, "%s: this is no ordinary file. Save the recording to a file first.",
                       path);
    if (about.st_size == 0)
        return dw_fail(message, DW_BAD_INPUT, "%s: the file is empty. Copy it again or record it again.", path);
    int descriptor = open(path, O_RDONLY | O_CLOEXEC);
    if (descriptor < 0)
        return dw_fail(message, DW_BAD_INPUT, "%s: cannot be read (%s). Check who may read the file.", path,
                       strerror(errno));
    close(descriptor);
    return DW_OK;
}

// Reads up to SIZE first bytes, the rest zero.
static void read_beginning(const char *path, unsigned char *bytes, size_t size)
{
    memset(bytes, 0, size);
    FILE *file = fopen(path, "rbe");
    if (!file)
        return;
    size_t got = fread(bytes, 1, size, file);
    fclose(file);
    (void)got;
}

const DwHeaderKind *dw_header_kind(const char *path)
{
    static const struct {
        size_t at;
        const char *mark;
        DwHeaderKind kind;
    } known[] = {
        {0, "RIFF", {"a WAV", false}},
        {0, "RIFX", {"a WAV", false}},
        {0, "RF64", {"an RF64", false}},
        {0, "FORM", {"an AIFF", false}},
        {0, "fLaC", {"a FLAC", false}},
        {0, "OggS", {"an Ogg", false}},
        {0, "ID3", {"an MP3", true}},
        {0, "\xff\xfb", {"an MP3", true}},
        {0, "caff", {"a CAF", false}},
        {0, "riff", {"a W64", false}},
        {0, ".snd", {"an AU", false}},
        {4, "ftyp", {"an M4A or MP4", true}},
        {0, "\x1a\x45\xdf\xa3", {"a Matroska or WebM", true}},
        {0, "#!AMR", {"an AMR", true}},
        {0, "\x30\x26\xb2\x75", {"a WMA", true}},
        {0, "\xff\xf1", {"an AAC", true}},
        {0, "\xff\xf9", {"an AAC", true}},
    };
    unsigned char beginning[16];
    read_beginning(path, beginning, sizeof beginning);
    for (size_t i = 0; i < sizeof known / sizeof *known; i++)
        if (memcmp(beginning + known[i].at, known[i].mark, strlen(known[i].mark)) == 0)
            return &known[i].kind;
    return NULL;
}

static uint64_t little_endian(const unsigned char *bytes, size_t count)
{
    uint64_t value = 0;
    for (size_t i = count; i-- > 0;)
        value = value << 8 | bytes[i];
    return value;
}

// Recorders that write to a pipe, or were switched off, leave a largest value
// where the length belongs: it promises nothing.
static bool is_placeholder(uint64_t bytes)
{
    return bytes == 0 || bytes >= 0xFFFFFF00u || (bytes >= 0x7FFFF000u && bytes <= 0x7FFFFFFFu);
}

// Walks the chunks after the head to "data" (EBU Tech 3306, "RF64: an extended
// file format for audio", 2007: a 64-bit length stands in "ds64" before it).
static int64_t walk_chunks(FILE *file, bool is_rf64)
{
    unsigned char chunk[8];
    uint64_t long_length = 0;
    while (fread(chunk, 1, sizeof chunk, file) == sizeof chunk) {
        uint64_t length = little_endian(chunk + 4, 4);
        unsigned char sizes[16];
        if (memcmp(chunk, "data", 4) == 0) {
            if (is_rf64 && length == 0xFFFFFFFFu)
                return long_length > 0 && long_length < INT64_MAX ? (int64_t)long_length : -1;
            return is_placeholder(length) ? -1 : (int64_t)length;
        }
        uint64_t skip = length + (length & 1);
        if (memcmp(chunk, "ds64", 4) == 0 && length >= sizeof sizes) {
            if (fread(sizes, 1, sizeof sizes, file) != sizeof sizes)
                return -1;
            long_length = little_endian(sizes + 8, 8);
            skip -= sizeof sizes;
        }
        if (fseeko(file, (off_t)skip, SEEK_CUR) != 0)
            return -1;
    }
    return -1;
}

int64_t dw_header_promised_bytes(const char *path)
{
    FILE *file = fopen(path, "rbe");
    if (!file)
        return -1;
    unsigned char head[12];
    int64_t promised = -1;
    if (fread(head, 1, sizeof head, file) == sizeof head && memcmp(head + 8, "WAVE", 4) == 0 &&
        (memcmp(head, "RIFF", 4) == 0 || memcmp(head, "RF64", 4) == 0))
        promised = walk_chunks(file, head[1] == 'F');
    fclose(file);
    return promised;
}

bool dw_header_is_mpeg(const char *path)
{
    unsigned char beginning[3];
    read_beginning(path, beginning, sizeof beginning);
    // Eleven ones begin a frame.
    return memcmp(beginning, "ID3", 3) == 0 || (beginning[0] == 0xff && (beginning[1] & 0xe0) == 0xe0);
}
