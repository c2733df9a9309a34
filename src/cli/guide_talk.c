// SPDX-License-Identifier: MIT
// The guide as a conversation: one question at a time.
#include "base/memory.h"
#include "base/text.h"
#include "cli/guide_call.h"
#include "guide/guide_words.h"
#include "guide/guide_reason.h"
#include "cli/tell.h"

#include <stdlib.h>
#include <string.h>

typedef struct {
    DwGuideCall *call;
    FILE *in, *out;
    char line[400];
} Talk;

// Reads a line without its end; false where IN has ended.
static bool read_line(Talk *talk)
{
    fflush(talk->out);
    if (!fgets(talk->line, sizeof talk->line, talk->in))
        return false;
    talk->line[strcspn(talk->line, "\r\n")] = 0;
    return true;
}

static void answer(Talk *talk, size_t sign, DwGuideAnswer given)
{
    DwGuideCase *guide_case = &talk->call->guide_case;
    if (guide_case->knowledge->signs[sign].symptom)
        dw_guide_case_answer_asked(guide_case, sign, given);
    else
        dw_guide_case_look_again(guide_case, sign, given);
    talk->call->answered = true;
}

static void take_back(Talk *talk)
{
    DwGuideLast last = dw_guide_case_last(&talk->call->guide_case);
    if (!last.any) {
        dw_tell(talk->out, "There is no answer to take back.\n");
        return;
    }
    dw_guide_case_take_back(&talk->call->guide_case);
    talk->call->answered = true;
    dw_tell(talk->out, "Taken back: %s\n",
            last.drive ? dw_said(dw_guide_drive_question) : talk->call->knowledge->signs[last.sign].ask);
}

typedef enum { ANSWERED, BACK, STOP } Reply;

// Asks for SIGN until the reply can be read.
static Reply ask(Talk *talk, size_t sign)
{
    for (;;) {
        fprintf(talk->out, "%s [y/n/?/b/q] ", talk->call->knowledge->signs[sign].ask);
        if (!read_line(talk))
            return STOP;
        switch (talk->line[0]) {
        case 'y':
            return answer(talk, sign, DW_GUIDE_YES), ANSWERED;
        case 'n':
            return answer(talk, sign, DW_GUIDE_NO), ANSWERED;
        case '?':
            return answer(talk, sign, DW_GUIDE_UNKNOWN), ANSWERED;
        case 'b':
            return take_back(talk), BACK;
        case 'q':
            return STOP;
        default:
            dw_tell(talk->out, "Say y for yes, n for no, ? for unknown, b to take the last answer back, q to stop.\n");
        }
    }
}

static void introduce(Talk *talk, const DwGuideTest *test, bool again)
{
    dw_tell(talk->out, "\n%s%s (%g min; %s)\n", again ? dw_said("Look again: ") : "", test->name, test->minutes,
            test->tools);
    for (size_t i = 0; i < test->does.count; i++)
        fprintf(talk->out, "  %s\n", test->does.texts[i]);
    if (test->caution)
        fprintf(talk->out, "  ! %s\n", test->caution);
}

// Asks which drive the deck has; false to stop.
static bool ask_drive(Talk *talk)
{
    DwMessage message;
    for (;;) {
        dw_tell(talk->out, "%s [belt/idler/direct/?/b/q] ", dw_guide_drive_question);
        if (!read_line(talk) || strcmp(talk->line, "q") == 0)
            return false;
        if (strcmp(talk->line, "b") == 0)
            return take_back(talk), true;
        bool unknown = strcmp(talk->line, "?") == 0;
        char *operand = dw_text_format("drive.kind=%s", unknown ? "unknown" : talk->line);
        DwStatus status = dw_guide_case_set(&talk->call->guide_case, operand, &message);
        free(operand);
        if (status == DW_OK)
            return talk->call->answered = true;
        fprintf(talk->out, "%s\n", dw_message_said(&message));
    }
}

// Asks what STEP needs; false to stop.
static bool make_step(Talk *talk, const DwGuideStep *step)
{
    const DwGuideCase *guide_case = &talk->call->guide_case;
    if (step->drive)
        return ask_drive(talk);
    if (step->test < 0)
        return ask(talk, step->symptom) != STOP;
    const DwGuideTest *test = &talk->call->knowledge->tests[step->test];
    introduce(talk, test, step->again);
    for (size_t i = 0; i < test->sign_count; i++) {
        if (!dw_guide_step_asks(guide_case, step, test->signs[i]))
            continue;
        Reply reply = ask(talk, test->signs[i]);
        if (reply != ANSWERED)
            return reply == BACK;
    }
    return true;
}

static void show_odds(Talk *talk, const DwGuideReasons *reasons)
{
    char *words = dw_guide_standing_words(&talk->call->guide_case, reasons);
    fprintf(talk->out, "\n%s\n", words);
    free(words);
    for (size_t i = 0; i < reasons->count && i < 4 && reasons->chance[reasons->order[i]] > 0.02; i++)
        fprintf(talk->out, "  %3.0f %%  %s\n", 100 * reasons->chance[reasons->order[i]],
                talk->call->knowledge->faults[reasons->order[i]].name);
}

// Takes the complaint in the owner's words; false where there is none.
static bool begin(Talk *talk)
{
    dw_tell(talk->out, "What is wrong with it, in the owner's words? ");
    while (read_line(talk)) {
        if (strcmp(talk->line, "q") == 0)
            return false;
        DwMessage message;
        if (dw_guide_case_say(&talk->call->guide_case, talk->line, &message) == DW_OK) {
            talk->call->answered = true;
            return true;
        }
        fprintf(talk->out, "%s ", dw_message_said(&message));
    }
    return false;
}

// When nothing is left to ask: whether an answer is taken back after all.
static bool ask_for_more(Talk *talk)
{
    dw_tell(talk->out, "b takes the last answer back; q, or an empty line, ends. ");
    bool back = read_line(talk) && strcmp(talk->line, "b") == 0;
    if (back)
        take_back(talk);
    return back;
}

static bool go_on(Talk *talk, const DwGuideReasons *reasons)
{
    if (reasons->standing == DW_GUIDE_NOTHING_SAID)
        return begin(talk);
    show_odds(talk, reasons);
    return reasons->standing == DW_GUIDE_ASKING ? make_step(talk, &reasons->steps[0]) : ask_for_more(talk);
}

void dw_guide_call_talk(DwGuideCall *call, FILE *in, FILE *out)
{
    Talk talk = {call, in, out, ""};
    for (bool goes_on = true; goes_on;) {
        DwGuideReasons reasons;
        dw_guide_reason(&call->guide_case, &reasons);
        goes_on = go_on(&talk, &reasons);
        dw_guide_reasons_clear(&reasons);
    }
    fputc('\n', out);
}
