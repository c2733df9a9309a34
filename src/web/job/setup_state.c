// SPDX-License-Identifier: MIT
#include "web/job/setup_state.h"

#include "base/arm_key.h"
#include "base/text.h"
#include "web/page/page.h"
#include "web/server/words.h"

#include <assert.h>
#include <stdlib.h>
#include <string.h>

static bool same_text(const char *a, const char *b)
{
    return strcmp(a ? a : "", b ? b : "") == 0;
}

// Takes note NUMBER (1 is the oldest). What was found as it came is a look; what
// is noted anew as it was is one too; all else is a change.
static void take(DwSetupState *state, const DwSetUp *note, int64_t number)
{
    char *plain = dw_arm_key_plain(note->key);
    int index = dw_guide_setup_find(plain);
    free(plain);
    if (index < 0)
        return;
    const DwSetUp *before = state->last[index];
    bool found = note->phase == DW_PHASE_AS_RECEIVED;
    bool as_before = before && same_text(before->value, note->value) && same_text(before->unit, note->unit);
    if (!found && !as_before) {
        state->changed[index] = note;
        state->times[index].changed = number;
    }
    if (found)
        state->found[index] = note;
    state->last[index] = note;
    state->times[index].seen = number;
}

DwStatus dw_setup_state_read(DwBook *book, int64_t job, const char *arm, DwSetupState *state, DwMessage *message)
{
    assert(dw_guide_setup_count() <= DW_SETUP_STATE_MOST);
    *state = (DwSetupState){0};
    DwStatus status = dw_record_list(book, &dw_set_up_entity, "job_id", job, &state->notes, message);
    for (size_t i = 0; status == DW_OK && i < state->notes.count; i++) {
        const DwSetUp *note = (const DwSetUp *)dw_records_at(&state->notes, i);
        if (dw_arm_key_belongs(note->key, arm))
            take(state, note, (int64_t)i + 1);
    }
    return status;
}

void dw_setup_state_clear(DwSetupState *state)
{
    if (state->notes.entity)
        dw_records_clear(&state->notes);
    *state = (DwSetupState){0};
}

char *dw_setup_state_why(const DwSetupState *state, size_t index)
{
    const DwGuideBearing *bearing = dw_guide_setup_stale(state->times, index);
    if (!bearing)
        return NULL;
    size_t cause = (size_t)dw_guide_setup_find(bearing->from);
    DwMomentWords changed = dw_page_moment(state->changed[cause]->at), seen = dw_page_moment(state->last[index]->at);
    bool same_day = strncmp(changed.text, seen.text, 10) == 0;
    return dw_text_format(_("%s was changed %s, after this was set %s. %s (%s)"),
                          dw_words(dw_guide_setup_at(cause)->label), changed.text + (same_day ? 11 : 0),
                          seen.text + (same_day ? 11 : 0), dw_words(bearing->why), dw_words(bearing->source));
}

size_t dw_setup_state_stale(const DwSetupState *state)
{
    size_t count = 0;
    for (size_t i = 0; i < dw_guide_setup_count(); i++)
        count += dw_guide_setup_stale(state->times, i) != NULL;
    return count;
}
