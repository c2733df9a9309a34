// SPDX-License-Identifier: MIT
// A signature for those who cannot draw one: the name as it was typed, and that it was.
#ifndef DW_REPORT_TYPED_SIGNATURE_H
#define DW_REPORT_TYPED_SIGNATURE_H

#include "base/status.h"

#include <stddef.h>

// Draws NAME over NOTE as PNG on nothing. The caller frees *BYTES with free().
DwStatus dw_typed_signature_draw(const char *name, const char *note, char **bytes, size_t *length, DwMessage *message);

#endif
