// SPDX-License-Identifier: MIT
// A file that appears whole or not at all.
#ifndef DW_CHART_WHOLE_FILE_H
#define DW_CHART_WHOLE_FILE_H

#include "base/status.h"

// Writes LENGTH bytes under a temporary name beside PATH, then gives it that
// name. On failure an older file at PATH stays as it was and nothing is left.
DwStatus dw_whole_file_write(const char *path, const char *bytes, size_t length, DwMessage *message);
// The same for nobody else to read: what stands in it is a customer's.
DwStatus dw_whole_file_write_private(const char *path, const char *bytes, size_t length, DwMessage *message);
// Whether that could be done now: makes the temporary name and takes it away again.
DwStatus dw_whole_file_check(const char *path, DwMessage *message);

#endif
