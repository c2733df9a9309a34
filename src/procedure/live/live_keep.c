// SPDX-License-Identifier: MIT
#include "procedure/live/live_keep.h"

#include "base/text.h"
#include "procedure/live/live_words.h"
#include "procedure/registry/procedure.h"

#include <math.h>
#include <stdarg.h>
#include <stdatomic.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>
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
    dw_live_course_cut(from->course, start, *end);
    return *start < *end;
}

// A name of its own for a recording that is to go again. The caller frees it with free().
static char *passing_name(const char *folder)
{
    static atomic_uint count;
    return dw_text_format("%s/deckwright-take-%ld-%u.wav", folder, (long)getpid(), atomic_fetch_add(&count, 1));
}

// Says on SHEET what a file would not show: missing samples, and a level that was changed.
static void tell_befell(const DwLiveKeepFrom *from, const DwLiveBefell *befell, DwSheet *sheet)
{
    for (size_t i = 0; befell->holes && i < sheet->reading_count; i++)
        sheet->readings[i].flags |= DW_FLAG_GAPS;
    if (befell->holes)
        dw_sheet_remark(sheet,
                        "%.2f s of sound are missing at %zu place%s of the take; measure again before trusting fine "
                        "readings.",
                        befell->lost_s, befell->holes, befell->holes == 1 ? "" : "s");
    DwSourceOrigin worst = *from->origin;
    worst.is_muted = befell->was_muted;
    worst.gain_db = fabs(befell->least_db) > fabs(befell->most_db) ? befell->least_db : befell->most_db;
    DwSaying way_in = dw_live_words_way_in(&worst);
    if (befell->was_muted && !from->origin->is_muted)
        dw_sheet_remark(sheet, "The input was muted in the computer's sound settings for a part of the take.");
    else if (way_in.text)
        dw_sheet_remark_as(sheet, &way_in);
    dw_saying_clear(&way_in);
    if (befell->most_db - befell->least_db > 0.05)
        dw_sheet_remark(sheet, "The level was changed in the computer's sound settings while the take ran: measure "
                               "again before trusting levels.");
}

// Adds a row: WHAT, the formatted value and its unit.
static void __attribute__((format(printf, 4, 5)))
add_fact(DwTable *table, const char *what, const char *unit, const char *format, ...)
{
    char value[300];
    va_list arguments;
    va_start(arguments, format);
    vsnprintf(value, sizeof value, format, arguments);
    va_end(arguments);
    size_t row = dw_table_add_row(table);
    dw_table_set_word(table, row, 0, what);
    dw_table_set_word(table, row, 1, value);
    dw_table_set_word(table, row, 2, unit);
}

static void add_level(DwTable *table, const DwLiveBefell *befell)
{
    if (isnan(befell->most_db))
        add_fact(table, "Level changed by", "", "not told");
    else if (befell->most_db - befell->least_db > 0.05)
        add_fact(table, "Level changed by", "dB", "%+.1f to %+.1f", befell->least_db, befell->most_db);
    else
        add_fact(table, "Level changed by", "dB", "%+.1f", befell->most_db);
    add_fact(table, "Muted", "", "%s", befell->was_muted ? "yes" : "no");
}

static const char device_mark[] = "device:";

// Says on SHEET how the sound came in; the clock is that of the newest stretch.
static void tell_origin(const DwLiveKeepFrom *from, const DwLiveBefell *befell, bool is_newest, DwSheet *sheet)
{
    const DwSourceOrigin *origin = from->origin;
    bool is_device = *origin->device;
    static const char *const columns[] = {"what|What||0", "value|Value||0", "unit|Unit||0", NULL};
    DwTable *table = dw_sheet_add_table(sheet, "take", "How the take came in", columns);
    bool is_tone = strcmp(from->input, "tone") == 0;
    add_fact(table, "Input", "", "%s",
             is_device ? origin->device
             : is_tone ? "test tone"
                       : "a recording that was played");
    if (is_device && strncmp(from->input, device_mark, strlen(device_mark)) == 0)
        add_fact(table, "Known to the sound server as", "", "%s", from->input + strlen(device_mark));
    add_fact(table, "Rate", "Hz", "%g", is_device ? origin->rate_hz : from->rate_hz);
    if (!is_device)
        return;
    add_fact(table, "Channels", "", "%u", origin->channels);
    if (origin->bits)
        add_fact(table, "Samples", "bits", "%u", origin->bits);
    if (origin->is_resampled)
        add_fact(table, "Resampled to", "Hz", "%g", from->rate_hz);
    else
        add_fact(table, "Resampled", "", "%s",
                 origin->is_unsure ? "asked not to; the sound server does not tell" : "no");
    add_fact(table, "Sound lost", "s", "%.2f", befell->lost_s);
    add_fact(table, "Places where it was lost", "", "%zu", befell->holes);
    if (is_newest && isfinite(from->clock->error_ppm))
        add_fact(table, "Clock fast by", "ppm", "%+.1f ± %.1f", from->clock->error_ppm, from->clock->off_ppm);
    else
        add_fact(table, "Clock", "", "not known");
    add_level(table, befell);
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
            DwLiveBefell befell = dw_live_course_befell(from->course, start, end, from->rate_hz);
            tell_befell(from, &befell, *sheet);
            uint64_t last = 0;
            dw_live_course_cut(from->course, &last, UINT64_MAX);
            tell_origin(from, &befell, end > last, *sheet);
        }
    }
    if (passing)
        unlink(passing);
    free(passing);
    return status;
}
