// SPDX-License-Identifier: MIT
#include "base/iso_boxes.h"

#include <stdint.h>
#include <string.h>
#include <sys/types.h>

static uint64_t big_endian(const unsigned char *bytes, size_t count)
{
    uint64_t value = 0;
    for (size_t i = 0; i < count; i++)
        value = value << 8 | bytes[i];
    return value;
}

bool dw_iso_boxes_whole(FILE *file)
{
    unsigned char head[16];
    bool described = false;
    if (fseeko(file, 0, SEEK_END) != 0)
        return false;
    uint64_t at = 0, end = (uint64_t)ftello(file);
    while (at + 8 <= end) {
        size_t got = fseeko(file, (off_t)at, SEEK_SET) == 0 ? fread(head, 1, sizeof head, file) : 0;
        uint64_t size = got >= 8 ? big_endian(head, 4) : 0, least = 8;
        if (size == 1) { // it stands behind the name, in eight bytes
            size = got == 16 ? big_endian(head + 8, 8) : 0;
            least = 16;
        } else if (size == 0 && got >= 8) // to the end
            size = end - at;
        if (size < least || size > end - at)
            return false;
        described = described || memcmp(head + 4, "meta", 4) == 0;
        at += size;
    }
    rewind(file);
    return described && at == end;
}
