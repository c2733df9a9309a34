// SPDX-License-Identifier: MIT
#include "procedure/registry/faults.h"

#include <string.h>

// What is read from two channels; speed, flutter and forces are not.
static const char *const of_the_channels[] = {"channels.", "azimuth.",  "noise.",    "response.",
                                              "lowsweep.", "tracking.", "intermod.", NULL};

static bool hangs_on_channels(const DwReading *reading)
{
    for (size_t i = 0; of_the_channels[i]; i++)
        if (strncmp(reading->key, of_the_channels[i], strlen(of_the_channels[i])) == 0)
            return true;
    return false;
}

void dw_faults_apply(DwSheet *sheet)
{
    const DwReading *fault = dw_sheet_reading(sheet, "channels.fault");
    if (!fault || !(fault->flags & DW_FLAG_FAULT))
        return;
    dw_sheet_put_first(sheet, "channels.fault");
    size_t withheld = 0;
    for (size_t i = 1; i < sheet->reading_count; i++) {
        DwReading *reading = &sheet->readings[i];
        bool passed = reading->verdict == DW_VERDICT_GOOD || reading->verdict == DW_VERDICT_SERVICEABLE;
        if (!passed || !hangs_on_channels(reading))
            continue;
        reading->verdict = DW_VERDICT_CANNOT_TELL;
        reading->flags |= DW_FLAG_FAULT;
        withheld++;
    }
    if (withheld)
        dw_sheet_remark(sheet, "While the fault of the channels stands nothing that is read from them is called good. "
                               "Mend it and measure again.");
}
