// SPDX-License-Identifier: MIT
// A call of the guide: the case, the job that it is kept on, and talking about it.
#ifndef DW_CLI_GUIDE_CALL_H
#define DW_CLI_GUIDE_CALL_H

#include "cli/command.h"
#include "guide/guide_sheet.h"

#include <stdint.h>

typedef struct {
    const char **words; // what is no option, in order
    size_t word_count;
    bool json, help, ask, plain;
    const char *job, *as, *book, *by, *out;
    const DwGuideKnowledge *knowledge;
    DwGuideCase guide_case;
    bool answered; // something was said in this call
} DwGuideCall;

// Asks one thing after the other until the cause is clear, nothing is left to ask, or IN ends.
void dw_guide_call_talk(DwGuideCall *call, FILE *in, FILE *out);

// Draws a deck by SEED (0: by the clock) with a hidden fault, and lets whoever sits at IN find it; recordings go to the
// file SOUND (NULL: none). Returned: the exit status.
int dw_guide_call_practise(DwGuideCall *call, uint64_t seed, const char *sound, FILE *in, FILE *out);

#endif
