// SPDX-License-Identifier: MIT
// The last minutes of a live input on disk: one thread adds, others copy out.
// The file has no name, so that nothing is left behind, or one by which it is
// found again after a restart; it never grows beyond its bound.
#ifndef DW_PROCEDURE_LIVE_TAKE_H
#define DW_PROCEDURE_LIVE_TAKE_H

#include "base/status.h"

#include <stdint.h>

typedef struct DwLiveTake DwLiveTake;

// Room for KEEP_S seconds in FOLDER. DW_FAILED when nothing can be written there.
DwStatus dw_live_take_new(const char *folder, double rate_hz, unsigned channels, double keep_s, DwLiveTake **take,
                          DwMessage *message);
// The same in the file PATH, which stays when the take is freed: emptied for END 0, else as it was left
// with END frames pushed. DW_BAD_INPUT when it does not hold them.
DwStatus dw_live_take_at(const char *path, double rate_hz, unsigned channels, double keep_s, uint64_t end,
                         DwLiveTake **take, DwMessage *message);
void dw_live_take_free(DwLiveTake *take);
// Adds FRAMES interleaved frames; the oldest give way. After a failure (the disk
// is full) nothing more is taken.
DwStatus dw_live_take_push(DwLiveTake *take, const float *interleaved, size_t frames, DwMessage *message);
// The KEEP_S it was made with.
double dw_live_take_keeps_s(const DwLiveTake *take);
// The frames held now, [*FROM, *TO), counted from the first pushed.
void dw_live_take_span(DwLiveTake *take, uint64_t *from, uint64_t *to);
// Writes the frames [FROM, TO) to PATH, whose ending chooses the format: samples
// as they stand in .wav and .aiff, 24 bits in others. A sample that is no number
// is DW_BAD_INPUT; what was overwritten meanwhile, or a full disk, DW_FAILED.
DwStatus dw_live_take_write(DwLiveTake *take, uint64_t from, uint64_t to, const char *path, DwMessage *message);

#endif
