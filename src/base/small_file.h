// SPDX-License-Identifier: MIT
// Files that people write and name by hand: taken whole, when they are ordinary
// and small. A pipe or a device would be waited for without end.
#ifndef DW_BASE_SMALL_FILE_H
#define DW_BASE_SMALL_FILE_H

#include "base/status.h"

// The bytes of the file at PATH and a zero byte after them. What cannot be
// opened, is no ordinary file or has more than MOST bytes is DW_BAD_INPUT with
// one line that begins with PATH. The caller frees *BYTES with free().
DwStatus dw_small_file_read(const char *path, size_t most, char **bytes, size_t *length, DwMessage *message);

#endif
