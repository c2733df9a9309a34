// SPDX-License-Identifier: MIT
// What an owner says in his own words, heard as the complaints that data/guide/symptoms.ini knows.
#ifndef DW_GUIDE_GUIDE_WORDS_H
#define DW_GUIDE_GUIDE_WORDS_H

#include "guide/guide_case.h"

// The phrases of all complaints of KNOWLEDGE, made ready to be heard. The caller frees it with dw_guide_ear_free()
// while KNOWLEDGE stands.
DwGuideEar *dw_guide_ear_new(const DwGuideKnowledge *knowledge);
void dw_guide_ear_free(DwGuideEar *ear);

// Takes the complaints whose phrases stand in WORDS ("sounds slow and hums"), whatever form the words have ("is slow,
// humming") and with a letter wrong, and that are not denied ("no hum"). What they only hint at counts, and weighs
// less, where it is a danger. What means nothing to the guide is kept in GUIDE_CASE and said with how it stands.
// Status: DW_BAD_INPUT, with one line that says what to do, where none is heard; where the words may mean several
// complaints, the line names them.
DwStatus dw_guide_case_say(DwGuideCase *guide_case, const char *words, DwMessage *message);

#endif
