// SPDX-License-Identifier: MIT
#include "guide/guide_path.h"

#include "base/memory.h"
#include "base/text.h"

#include <math.h>
#include <stdlib.h>
#include <string.h>

const double dw_guide_bits_shown = 0.3;
const char dw_guide_drive_question[] = "Is the platter driven by a belt, by an idler wheel, or directly?";

char *dw_guide_spoken_word(const DwGuideCase *guide_case, size_t sign)
{
    const DwGuideEvidence *evidence = &guide_case->evidence[sign];
    const char *word = dw_guide_answer_word(evidence->answer);
    if (evidence->asked && evidence->answer == DW_GUIDE_YES)
        return dw_memory_text("yes, when asked");
    bool yes = evidence->answer == DW_GUIDE_YES;
    if (evidence->before == DW_GUIDE_YES)
        return dw_memory_text(yes ? "yes, and again yes" : "yes, then no");
    if (evidence->before == DW_GUIDE_NO)
        return dw_memory_text(yes ? "no, then yes" : "no, and again no");
    return dw_memory_text(word);
}

// --- as it is kept --------------------------------------------------------------

static void add_answer(DwTable *table, const char *key, const char *answer, double weight, const char *from,
                       const char *ask)
{
    size_t row = dw_table_add_row(table);
    dw_table_set_word(table, row, 0, key);
    dw_table_set_word(table, row, 1, answer);
    dw_table_set_number(table, row, 2, weight);
    dw_table_set_word(table, row, 3, from);
    dw_table_set_word(table, row, 4, ask);
}

bool dw_guide_path_any(const DwGuideCase *guide_case)
{
    bool has = guide_case->drive_turn || guide_case->unheard;
    for (size_t i = 0; i < guide_case->knowledge->sign_count; i++)
        has |= guide_case->evidence[i].turn > 0;
    return has;
}

void dw_guide_path_add(const DwGuideCase *guide_case, const DwGuideReasons *reasons, DwSheet *sheet)
{
    static const char *const columns[] = {"key|Key||0",   "answer|Answer||0", "weight|For the likeliest|bit|1",
                                          "from|From||0", "ask|Question||0",  NULL};
    DwTable *table = dw_sheet_add_table(sheet, "guide.answers", "Answers so far", columns);
    bool weighs = reasons->count && reasons->standing != DW_GUIDE_NOTHING_SAID;
    for (unsigned turn = 1; turn <= guide_case->turns; turn++) {
        if (guide_case->drive_turn == turn)
            add_answer(table, "drive.kind", dw_guide_drive_word(guide_case), NAN, "answered", dw_guide_drive_question);
        for (size_t i = 0; i < guide_case->knowledge->sign_count; i++) {
            if (guide_case->evidence[i].turn != turn)
                continue;
            char *name = dw_guide_sign_name(&guide_case->knowledge->signs[i]),
                 *word = dw_guide_case_word(guide_case, i);
            add_answer(table, name, word, weighs ? dw_guide_weight(guide_case, i, reasons->order[0]) : NAN,
                       guide_case->evidence[i].from, guide_case->knowledge->signs[i].ask);
            free(word);
            free(name);
        }
    }
    if (guide_case->unheard) // kept with the answers, so that it is said until it is put in other words
        add_answer(table, dw_guide_unheard_key, guide_case->unheard, NAN, "not understood", "");
}

// --- to be read ---------------------------------------------------------------

// What an answer of WEIGHT bits says of the likeliest cause, to an owner.
static const char *told(const DwGuideEvidence *evidence, double weight)
{
    if (evidence->answer == DW_GUIDE_UNKNOWN)
        return "could not be told";
    if (weight >= dw_guide_bits_shown)
        return "speaks for it";
    return weight <= -dw_guide_bits_shown ? "speaks against it" : "decides little";
}

// What it was answered by, to a technician: "by hand", or the reading.
static const char *answered_by(const DwGuideEvidence *evidence)
{
    return strcmp(evidence->from, "answered") == 0 ? "by hand" : evidence->from;
}

static void add_drive(const DwGuideCase *guide_case, bool plain, DwTable *table)
{
    size_t row = dw_table_add_row(table);
    dw_table_set_word(table, row, 0, dw_guide_drive_question);
    dw_table_set_word(table, row, 1, dw_guide_drive_word(guide_case));
    dw_table_set_number(table, row, 2, NAN);
    if (!plain)
        dw_table_set_word(table, row, 3, "by hand");
    else
        dw_table_set_word(table, row, 2, "decides what can be at fault");
}

static void add_sign(const DwGuideCase *guide_case, size_t sign, double weight, bool plain, DwTable *table)
{
    const DwGuideEvidence *evidence = &guide_case->evidence[sign];
    char *word = dw_guide_spoken_word(guide_case, sign);
    size_t row = dw_table_add_row(table);
    dw_table_set_word(table, row, 0, guide_case->knowledge->signs[sign].ask);
    dw_table_set_word(table, row, 1, word);
    if (plain)
        dw_table_set_word(table, row, 2, told(evidence, weight));
    else {
        dw_table_set_number(table, row, 2, weight);
        dw_table_set_word(table, row, 3, answered_by(evidence));
    }
    free(word);
}

void dw_guide_path_add_read(const DwGuideCase *guide_case, const DwGuideReasons *reasons, bool plain, DwSheet *sheet)
{
    static const char *const whole[] = {"ask|Question||0", "answer|Answer||0", "weight|For the likeliest|bit|1",
                                        "from|Answered||0", NULL};
    static const char *const simple[] = {"ask|We asked||0", "answer|Answer||0", "told|It told us||0", NULL};
    DwTable *table = dw_sheet_add_table(sheet, "guide.path", "What was asked, in this order", plain ? simple : whole);
    for (unsigned turn = 1; turn <= guide_case->turns; turn++) {
        if (guide_case->drive_turn == turn)
            add_drive(guide_case, plain, table);
        for (size_t i = 0; i < guide_case->knowledge->sign_count; i++)
            if (guide_case->evidence[i].turn == turn)
                add_sign(guide_case, i, reasons->count ? dw_guide_weight(guide_case, i, reasons->order[0]) : NAN, plain,
                         table);
    }
}
