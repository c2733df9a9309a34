// SPDX-License-Identifier: MIT
#include "procedure/drive/oil_scales.h"

#include "base/keyfile.h"
#include "base/text.h"
#include "procedure/registry/limits.h"

#include <math.h>
#include <stdlib.h>
#include <string.h>

// The line of STANDARD whose range holds VALUE (its upper end not included), or NULL.
static const DwKeyLine *grade_of(const DwKeyfile *file, const char *standard, double value)
{
    for (size_t i = 0; i < file->count; i++) {
        DwRange range;
        const DwKeyLine *line = &file->lines[i];
        if (strcmp(line->group, standard) != 0 || !dw_limits_read_range(line->value, &range))
            continue;
        if (value >= range.low && !(value >= range.high))
            return line;
    }
    return NULL;
}

static char *grade_words(const DwKeyfile *file, const char *standard, double value, int celsius)
{
    const DwKeyLine *line = grade_of(file, standard, value);
    if (!line)
        return dw_text_format("between the grades of %s (%.1f mm2/s at %d °C)", standard, value, celsius);
    return dw_text_format("grade %s of %s (%s mm2/s at %d °C)", line->key, standard, line->value, celsius);
}

DwStatus dw_oil_scales_remark(DwSheet *sheet, double at_40, double at_100, DwMessage *message)
{
    char *path = dw_text_format("%s/oil_scales.ini", dw_data_folder());
    DwKeyfile file;
    DwStatus status = dw_keyfile_read(path, &file, message);
    free(path);
    if (status != DW_OK)
        return status;
    char *iso = grade_words(&file, "ISO 3448", at_40, 40), *sae = grade_words(&file, "SAE J306", at_100, 100);
    dw_sheet_remark(sheet, "By its viscosity this oil is %s and %s.", iso, sae);
    free(iso);
    free(sae);
    dw_keyfile_clear(&file);
    return DW_OK;
}
