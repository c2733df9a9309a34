// SPDX-License-Identifier: MIT
#include "procedure/live/live_keep.h"

#include "base/text.h"
#include "procedure/live/live_words.h"
#include "procedure/registry/procedure.h"

#include <math.h>
#include <stdatomic.h>
#include <stdio.h>
#include <stdlib.h>
#include <unistd.h>

// The frames to keep, of one stretch. Returned: false when there are none.
static bool find_span(const DwLiveKeepFrom *from, const DwLiveKeep *keep, uint64_t *start, uint64_t *end)
{
    dw_live_take_span(from->take, start, end);
    if (keep->until && keep->until < *end)
        *end = keep->until;
    double wanted = isfinite(keep->last_s) ? keep->last_s * from->rate_hz : INFINITY;
    if (wanted < (double)*end && (uint64_t)((double)*end - wanted) > *start)
        *start = (uint64_t)((double)*end - wanted);
    for (size_t i = 0; i < from->gap_count; i++)
        if (from->gaps[i].is_apart && from->gaps[i].place > *start && from->gaps[i].place < *end)
            *start = from->gaps[i].place;
    return *start < *end;
}

// A name of its own for a recording that is to go again. The caller frees it with free().
static char *passing_name(const char *folder)
{
    static atomic_uint count;
    return dw_text_format("%s/deckwright-take-%ld-%u.wav", folder, (long)getpid(), atomic_fetch_add(&count, 1));
}

// Says on SHEET what a file would not show: missing samples.
static void tell_gaps(const DwLiveKeepFrom *from, uint64_t start, uint64_t end, DwSheet *sheet)
{
    size_t count = 0;
    double lost_s = 0;
    for (size_t i = 0; i < from->gap_count; i++) {
        bool within = from->gaps[i].place > start && from->gaps[i].place < end;
        count += within;
        lost_s += within ? from->gaps[i].lost_s : 0;
    }
    if (!count)
        return;
    for (size_t i = 0; i < sheet->reading_count; i++)
        sheet->readings[i].flags |= DW_FLAG_GAPS;
    dw_sheet_remark(sheet,
                    "%.2f s of sound are missing at %zu place%s of the take; measure again before trusting fine "
                    "readings.",
                    lost_s, count, count == 1 ? "" : "s");
}

// Says on SHEET how the sound came in.
static void tell_origin(const DwLiveKeepFrom *from, DwSheet *sheet)
{
    const DwSourceOrigin *origin = from->origin;
    if (!origin || !*origin->device)
        return;
    DwText text = {0};
    dw_text_add(&text, "Taken live from \"%s\": %g Hz, %u channel%s", origin->device, origin->rate_hz, origin->channels,
                origin->channels == 1 ? "" : "s");
    if (origin->bits)
        dw_text_add(&text, " of %u bits", origin->bits);
    dw_text_add(&text, origin->is_resampled ? ", resampled to %g Hz." : ", not resampled.", from->rate_hz);
    if (isfinite(from->clock->error_ppm))
        dw_text_add(&text, " Its clock read %+.1f ± %.1f ppm against the computer's.", from->clock->error_ppm,
                    from->clock->off_ppm);
    dw_sheet_remark(sheet, "%s", text.chars);
    dw_text_clear(&text);
    char level[200];
    if (dw_live_words_way_in(origin, level, sizeof level))
        dw_sheet_remark(sheet, "%s", level);
}

static DwStatus measure(const DwLiveKeepFrom *from, const DwLiveKeep *keep, const char *path, DwSheet **sheet,
                        DwMessage *message)
{
    const DwProcedure *procedure = dw_procedure_find(keep->procedure);
    if (!procedure)
        return dw_fail(message, DW_BAD_INPUT, "There is no procedure called \"%s\".", keep->procedure);
    DwRequest request = {keep->inputs, &path, 1};
    DwStatus status = dw_procedure_run(procedure, &request, sheet, message);
    if (status != DW_OK)
        return status;
    if (!keep->path) {
        char *subject = dw_text_format("live, %s", from->input);
        dw_sheet_set_subject(*sheet, subject);
        free(subject);
    }
    return DW_OK;
}

DwStatus dw_live_keep(const DwLiveKeepFrom *from, const DwLiveKeep *keep, DwSheet **sheet, DwMessage *message)
{
    uint64_t start, end;
    *sheet = NULL;
    if (!keep->path && !keep->procedure)
        return dw_fail(message, DW_BAD_INPUT, "Say what to keep: a measurement, the recording, or both.");
    if (!find_span(from, keep, &start, &end))
        return dw_fail(message, DW_BAD_INPUT, "Nothing was captured yet. Start the input and let it run.");
    char *passing = keep->path ? NULL : passing_name(from->folder);
    const char *path = keep->path ? keep->path : passing;
    DwStatus status = dw_live_take_write(from->take, start, end, path, message);
    if (status == DW_OK && keep->procedure) {
        status = measure(from, keep, path, sheet, message);
        if (status == DW_OK) {
            tell_gaps(from, start, end, *sheet);
            tell_origin(from, *sheet);
        }
    }
    if (passing)
        unlink(passing);
    free(passing);
    return status;
}
