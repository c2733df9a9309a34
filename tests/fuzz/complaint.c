// SPDX-License-Identifier: MIT
// What an owner says: it is a complaint that is kept, or one line says what to do. Saying it twice changes nothing.
#include "base/place.h"
#include "guide/guide_words.h"
#include "target.h"

#include <stdio.h>

static const DwGuideKnowledge *shipped(void)
{
    static DwGuideKnowledge knowledge;
    static DwGuideTroubles troubles;
    DwMessage message = {""};
    if (!knowledge.sign_count) {
        char folder[4096];
        snprintf(folder, sizeof folder, "%s/guide", dw_data_folder());
        TARGET_HOLDS(dw_guide_knowledge_read(folder, &knowledge, &troubles, &message) == DW_OK && !troubles.count);
    }
    return &knowledge;
}

static size_t answers_of(const DwGuideCase *guide_case)
{
    size_t count = 0;
    for (size_t i = 0; i < guide_case->knowledge->sign_count; i++)
        count += guide_case->evidence[i].answer == DW_GUIDE_YES;
    return count;
}

int LLVMFuzzerTestOneInput(const uint8_t *bytes, size_t count)
{
    char *text = target_text(bytes, count);
    DwGuideCase guide_case;
    dw_guide_case_init(&guide_case, shipped());
    DwMessage message = {""};
    DwStatus status = dw_guide_case_say(&guide_case, text, &message);
    size_t heard = answers_of(&guide_case);
    TARGET_HOLDS(status == DW_OK ? heard > 0 : heard == 0 && message.text[0]);
    TARGET_HOLDS(dw_guide_case_say(&guide_case, text, &message) == status && answers_of(&guide_case) == heard);
    dw_guide_case_clear(&guide_case);
    free(text);
    return 0;
}
