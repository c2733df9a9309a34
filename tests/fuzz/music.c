// SPDX-License-Identifier: MIT
// Plans of notes: whatever stands in them, what is read can be played.
#include "synth/music_plan.h"
#include "target.h"

#include <math.h>

static void check_note(const DwMusicPlan *plan, const DwMusicNote *note)
{
    TARGET_HOLDS(note->instrument < plan->instrument_count && note->start_s >= 0 && note->length_s > 0);
    TARGET_HOLDS(note->from_hz > 0 && note->to_hz > 0 && note->gain > 0 && fabs(note->place) <= 1);
    TARGET_HOLDS(note->start_s + note->length_s <= plan->notes_end_s + 1e-9);
}

int LLVMFuzzerTestOneInput(const uint8_t *bytes, size_t count)
{
    char *text = target_text(bytes, count);
    DwMusicPlan plan;
    DwMessage message = {""};
    if (dw_music_plan_parse(text, count, "file", &plan, &message) == DW_OK) {
        TARGET_HOLDS(plan.note_count > 0 && plan.end_s <= DW_MUSIC_LONGEST_S && plan.tempo > 0);
        for (size_t i = 0; i < plan.note_count; i++)
            check_note(&plan, &plan.notes[i]);
        for (size_t i = 0; i < plan.instrument_count; i++)
            TARGET_HOLDS(plan.instruments[i].partial_count > 0 ||
                         plan.instruments[i].noise_high_hz > plan.instruments[i].noise_low_hz);
        dw_music_plan_clear(&plan);
    } else
        TARGET_HOLDS(message.text[0] && !plan.notes && !plan.instruments);
    free(text);
    return 0;
}
