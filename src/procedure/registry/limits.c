// SPDX-License-Identifier: MIT
#include "procedure/registry/limits.h"

#include "base/keyfile.h"
#include "base/text.h"

#include <math.h>
#include <stdlib.h>
#include <string.h>

const char *dw_data_folder(void)
{
    const char *folder = getenv("DECKWRIGHT_DATA");
    return folder && *folder ? folder : DW_DATA_FOLDER;
}

// Reads "LOW .. HIGH", either end empty when it is open.
bool dw_limits_read_range(const char *text, DwRange *range)
{
    *range = (DwRange){NAN, NAN};
    const char *dots = strstr(text, "..");
    if (!dots)
        return false;
    char low[32] = "";
    size_t length = (size_t)(dots - text);
    if (length >= sizeof low)
        return false;
    memcpy(low, text, length);
    const char *after = low[strspn(low, " ")] ? dw_text_number(low, &range->low) : low;
    if (!after || after[strspn(after, " ")])
        return false;
    const char *high = dots + 2 + strspn(dots + 2, " ");
    after = *high ? dw_text_number(high, &range->high) : high;
    return after && !after[strspn(after, " ")];
}

static DwStatus apply_line(DwReading *reading, const DwKeyfile *file, const char *path, const DwKeyLine *line,
                           DwMessage *message)
{
    DwRange allowed, good = {NAN, NAN};
    const char *source = dw_keyfile_value(file, line->group, "source");
    const char *good_text = dw_keyfile_value(file, line->group, "good");
    if (!dw_limits_read_range(line->value, &allowed) || (good_text && !dw_limits_read_range(good_text, &good)))
        return dw_fail(message, DW_BAD_INPUT, "%s: line %u: a range is written LOW .. HIGH.", path, line->line);
    if (!source)
        return dw_fail(message, DW_BAD_INPUT, "%s: [%s] names no source. Add source = standard or 'common practice'.",
                       path, line->group);
    dw_reading_set_limit(reading, allowed, good, source);
    return DW_OK;
}

DwStatus dw_limits_apply_file(DwSheet *sheet, const char *path, DwMessage *message)
{
    DwKeyfile file;
    DwStatus status = dw_keyfile_read(path, &file, message);
    for (size_t i = 0; status == DW_OK && i < file.count; i++) {
        DwReading *reading = dw_sheet_reading(sheet, file.lines[i].group);
        if (reading && !reading->unjudged && strcmp(file.lines[i].key, "allowed") == 0)
            status = apply_line(reading, &file, path, &file.lines[i], message);
    }
    dw_keyfile_clear(&file);
    return status;
}

DwStatus dw_limits_apply(DwSheet *sheet, const char *class_name, DwMessage *message)
{
    char *path = dw_text_format("%s/limits/%s.ini", dw_data_folder(), class_name);
    DwStatus status = dw_limits_apply_file(sheet, path, message);
    free(path);
    return status;
}
