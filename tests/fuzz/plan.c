// SPDX-License-Identifier: MIT
// Band plans: whatever stands in them, what is read can be used and written, and
// what was written reads the same.
#include "base/plan/band_plan.h"
#include "target.h"

#include <math.h>

static void check_band(const DwBandPlanBand *band)
{
    TARGET_HOLDS(band->number >= 1 && band->number <= DW_BAND_PLAN_BANDS_MOST);
    TARGET_HOLDS(band->kind < DW_PLAN_KINDS && band->channel < DW_PLAN_CHANNELS && band->cut < DW_PLAN_CUTS);
    TARGET_HOLDS(band->step_count <= DW_BAND_PLAN_STEPS_MOST && (band->step_count == 0) == (band->steps_um == NULL));
    if (band->broken)
        return;
    TARGET_HOLDS(band->length_s > 0 && band->gap_s >= 0);
    bool steps = band->kind == DW_PLAN_STEPS, sweep = band->kind == DW_PLAN_SWEEP, two = band->kind == DW_PLAN_TWO_TONE;
    TARGET_HOLDS(steps == (band->step_count > 0));
    TARGET_HOLDS(!(steps || two || band->kind == DW_PLAN_TONE) || band->frequency_hz > 0);
    TARGET_HOLDS(!(sweep || two) || band->from_hz > 0);
    TARGET_HOLDS(!sweep || (band->to_hz > 0 && band->to_hz != band->from_hz));
}

int LLVMFuzzerTestOneInput(const uint8_t *bytes, size_t count)
{
    char *text = target_text(bytes, count);
    DwBandPlan plan, again;
    DwPlanTroubles troubles;
    DwMessage message = {""};
    if (dw_band_plan_examine_text(text, count, "file", &plan, &troubles, &message) == DW_OK) {
        for (size_t i = 0; i < troubles.count; i++)
            TARGET_HOLDS(troubles.items[i].text[0] && (i == 0 || troubles.items[i].line >= troubles.items[i - 1].line));
        for (size_t i = 0; i < plan.count; i++) {
            TARGET_HOLDS(i == 0 || plan.bands[i].number > plan.bands[i - 1].number);
            check_band(&plan.bands[i]);
        }
        dw_band_plan_clear(&plan);
        dw_plan_troubles_clear(&troubles);
    } else
        TARGET_HOLDS(message.text[0]);
    if (dw_band_plan_parse(text, count, "file", &plan, &message) == DW_OK) {
        char *written = dw_band_plan_write(&plan);
        TARGET_HOLDS(dw_band_plan_parse(written, strlen(written), "again", &again, &message) == DW_OK);
        TARGET_HOLDS(again.count == plan.count);
        dw_band_plan_clear(&again);
        dw_band_plan_clear(&plan);
        free(written);
    }
    free(text);
    return 0;
}
