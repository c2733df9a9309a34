// SPDX-License-Identifier: MIT
// Key files: groups of `key = value` lines that a technician may write and
// read (deck files, limits, band plans). Parsed by inih.
#ifndef DW_BASE_KEYFILE_H
#define DW_BASE_KEYFILE_H

#include "base/status.h"

#include <stdio.h>

// What a person writes stays far below. More lines than these are refused so
// that whoever looks lines up by others stays quick.
enum { DW_KEYFILE_BYTES_MOST = 1 << 20, DW_KEYFILE_LINES_MOST = 10000 };

// One line of a key file, in the order of the file.
typedef struct {
    char *group; // "" before the first group
    char *key;
    char *value;
    unsigned line; // 1 is the first
} DwKeyLine;

typedef struct {
    DwKeyLine *lines;
    size_t count;
    size_t room;
} DwKeyfile;

// Reads the file at PATH. A file that cannot be opened, is no ordinary one or
// larger than those is DW_BAD_INPUT, and so is a line that is neither a group, a
// key nor a comment; FILE is empty then.
DwStatus dw_keyfile_read(const char *path, DwKeyfile *file, DwMessage *message);
// The same from LENGTH bytes at TEXT; NAME stands for the path in messages.
DwStatus dw_keyfile_parse(const char *text, size_t length, const char *name, DwKeyfile *file, DwMessage *message);
void dw_keyfile_clear(DwKeyfile *file);
// The value of KEY in GROUP, the last one given; or NULL.
const char *dw_keyfile_value(const DwKeyfile *file, const char *group, const char *key);

#endif
