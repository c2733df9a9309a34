// SPDX-License-Identifier: MIT
#include "guide/guide_sheet.h"

#include "base/memory.h"
#include "base/text.h"
#include "base/tongue.h"
#include "guide/guide_path.h"
#include "guide/guide_plan.h"
#include "guide/guide_setup.h"

#include <math.h>
#include <stdlib.h>
#include <string.h>
#include <strings.h>

enum { CAUSES_SHOWN = 8, REASONED = 3, STEPS_SHOWN = 5, SIGNS_SHOWN = 4 };
static const double shown_least = 0.005; // causes less likely than this are left out
const char dw_guide_after_danger[] = "It was brought in for something that can hurt. Power it watched, through a lamp "
                                     "limiter where there is one, and pull the "
                                     "plug at smoke, smell or heat. Before it leaves, insulation and touch current are "
                                     "tested again by somebody licensed "
                                     "for it by local codes.";

// --- in words -----------------------------------------------------------------

// The names of the faults at places FIRST to LAST of the order.
static char *name_faults(const DwGuideCase *guide_case, const DwGuideReasons *reasons, size_t first, size_t last)
{
    DwText text = {0};
    for (size_t i = first; i < last; i++)
        dw_text_add(&text, "%s%s", i > first ? "; " : "", guide_case->knowledge->faults[reasons->order[i]].name);
    dw_text_add(&text, "%s", "");
    return dw_text_take(&text);
}

// How many of the order cannot be told from the likeliest that is not found.
static size_t rivals(const DwGuideReasons *reasons)
{
    size_t last = reasons->found;
    while (last < reasons->count && last < reasons->found + 4 &&
           reasons->chance[reasons->order[last]] > 0.2 * reasons->chance[reasons->order[reasons->found]])
        last++;
    return last;
}

// The complaints that what is found does not account for: "“…?” and “…?”"; "" for none.
static char *name_unexplained(const DwGuideCase *guide_case, const DwGuideReasons *reasons)
{
    DwText text = {0};
    for (size_t i = 0; i < guide_case->knowledge->symptom_count; i++)
        if (guide_case->evidence[i].answer == DW_GUIDE_YES && !dw_guide_accounts_for(guide_case->knowledge, reasons, i))
            dw_text_add(&text, "%s“%s”", text.length ? " and " : "", guide_case->knowledge->signs[i].ask);
    dw_text_add(&text, "%s", "");
    return dw_text_take(&text);
}

// What is found but leaves a complaint unexplained; OPEN names what is still likely.
static char *found_words(const DwGuideCase *guide_case, const DwGuideReasons *reasons, const char *found,
                         const char *open)
{
    char *left = name_unexplained(guide_case, reasons);
    if (!*left) {
        free(left);
        return dw_text_format("Most likely: %s. It is still to be confirmed.", found);
    }
    bool asking = reasons->standing == DW_GUIDE_ASKING, rival = false;
    for (size_t i = reasons->found; i < reasons->count; i++)
        rival |= reasons->chance[reasons->order[i]] > 0.1;
    char *words = dw_text_format("Found: %s. It does not explain %s%s%s%s", found, left,
                                 rival    ? "; likely besides: "
                                 : asking ? "; what does is not clear yet."
                                          : "; no test left would tell what does.",
                                 rival ? open : "", rival ? "." : "");
    free(left);
    return words;
}

char *dw_guide_standing_words(const DwGuideCase *guide_case, const DwGuideReasons *reasons)
{
    char *found = name_faults(guide_case, reasons, 0, reasons->found), *words = NULL;
    char *open = name_faults(guide_case, reasons, reasons->found, rivals(reasons));
    switch (reasons->standing) {
    case DW_GUIDE_NOTHING_SAID:
        words = dw_text_format("Nothing is said of this deck yet. Begin with a complaint, as in symptom.hum=yes.");
        break;
    case DW_GUIDE_ASKING:
        words = *found ? found_words(guide_case, reasons, found, open)
                       : dw_text_format("The cause is not clear yet. Likely: %s.", open);
        break;
    case DW_GUIDE_CLEAR:
        words = dw_text_format("The cause is clear: %s.", found);
        break;
    case DW_GUIDE_CANNOT_TELL:
        words = *found                 ? found_words(guide_case, reasons, found, open)
                : rivals(reasons) == 1 ? dw_text_format("No test left would make this surer: %s.", open)
                                       : dw_text_format("No test left would tell these apart: %s.", open);
        break;
    }
    free(found);
    free(open);
    if (!guide_case->unheard)
        return words;
    char *more = dw_text_format("%s Not understood: %s. Say it in other words, or ask what is meant by it.", words,
                                guide_case->unheard);
    free(words);
    return more;
}

// What speaks for FAULT (SENSE 1) or against it (−1), strongest first; "" for nothing.
static char *name_reasons(const DwGuideCase *guide_case, size_t fault, int sense)
{
    DwText text = {0};
    size_t taken[SIGNS_SHOWN], count = 0;
    while (count < SIGNS_SHOWN) {
        int best = -1;
        double most = dw_guide_bits_shown;
        for (size_t i = 0; i < guide_case->knowledge->sign_count; i++) {
            bool again = false;
            for (size_t k = 0; k < count; k++)
                again |= taken[k] == i;
            double weight = sense * dw_guide_weight(guide_case, i, fault);
            if (!again && guide_case->evidence[i].turn && weight > most) {
                most = weight;
                best = (int)i;
            }
        }
        if (best < 0)
            break;
        char *word = dw_guide_spoken_word(guide_case, (size_t)best);
        dw_text_add(&text, "%s%s – %s", count ? "; " : "", guide_case->knowledge->signs[best].ask, word);
        free(word);
        taken[count++] = (size_t)best;
    }
    dw_text_add(&text, "%s", "");
    return dw_text_take(&text);
}

// Findings of FAULT that nobody has looked for, the surest first.
static char *name_unknown(const DwGuideCase *guide_case, size_t fault)
{
    const DwGuideKnowledge *knowledge = guide_case->knowledge;
    int best = -1, second = -1;
    for (size_t i = knowledge->symptom_count; i < knowledge->sign_count; i++) {
        if (guide_case->evidence[i].turn || dw_guide_sign_chance(&knowledge->signs[i], fault) < 0.3)
            continue;
        double chance = dw_guide_sign_chance(&knowledge->signs[i], fault);
        if (best < 0 || chance > dw_guide_sign_chance(&knowledge->signs[best], fault)) {
            second = best;
            best = (int)i;
        } else if (second < 0 || chance > dw_guide_sign_chance(&knowledge->signs[second], fault))
            second = (int)i;
    }
    return dw_text_format("%s%s%s", best < 0 ? "" : knowledge->signs[best].ask, second < 0 ? "" : " ",
                          second < 0 ? "" : knowledge->signs[second].ask);
}

static void remark_reasons(const DwGuideCase *guide_case, const DwGuideReasons *reasons, DwSheet *sheet)
{
    for (size_t i = 0; i < reasons->count && i < REASONED; i++) {
        size_t fault = reasons->order[i];
        if (reasons->chance[fault] < 0.05)
            continue;
        char *pro = name_reasons(guide_case, fault, 1), *contra = name_reasons(guide_case, fault, -1);
        char *unknown = name_unknown(guide_case, fault);
        dw_sheet_remark(sheet, "%s. For it: %s. Against it: %s. Not yet known: %s",
                        guide_case->knowledge->faults[fault].name, *pro ? pro : "nothing yet",
                        *contra ? contra : "nothing", *unknown ? unknown : "nothing more.");
        free(pro);
        free(contra);
        free(unknown);
    }
}

// --- tables -------------------------------------------------------------------

static void add_causes(const DwGuideCase *guide_case, const DwGuideReasons *reasons, DwSheet *sheet)
{
    static const char *const columns[] = {"odds|Odds|%|1", "key|Key||0", "cause|Cause||0", NULL};
    DwTable *table = dw_sheet_add_table(sheet, "guide.causes", "Likely causes", columns);
    for (size_t i = 0; i < reasons->count && i < CAUSES_SHOWN; i++) {
        size_t fault = reasons->order[i];
        if (reasons->chance[fault] < shown_least)
            continue;
        size_t row = dw_table_add_row(table);
        dw_table_set_number(table, row, 0, 100 * reasons->chance[fault]);
        dw_table_set_word(table, row, 1, guide_case->knowledge->faults[fault].key);
        dw_table_set_word(table, row, 2, guide_case->knowledge->faults[fault].name);
    }
}

static void add_own_row(DwTable *table, const char *cause, const DwGuideShare *share, double alike)
{
    size_t row = dw_table_add_row(table);
    dw_table_set_word(table, row, 0, cause);
    dw_table_set_number(table, row, 1, share->decks);
    dw_table_set_number(table, row, 2, share->of_model);
    dw_table_set_number(table, row, 3, share->returned);
    dw_table_set_number(table, row, 4, alike);
}

// What the shop itself found on decks like this one, most first, and last what is on no list.
static void add_own(const DwGuideCase *guide_case, DwSheet *sheet)
{
    static const char *const columns[] = {"cause|Cause||0",
                                          "decks|Decks||0",
                                          "model|Of this model||0",
                                          "returned|Came back||0",
                                          "alike|With this complaint||0",
                                          NULL};
    if (!guide_case->own || guide_case->without_own)
        return;
    DwTable *table = dw_sheet_add_table(sheet, "guide.own", "What this shop found before", columns);
    for (double decks = guide_case->own_all.decks; decks > 0; decks--)
        for (size_t f = 0; f < guide_case->knowledge->fault_count; f++)
            if (guide_case->own[f].decks == decks)
                add_own_row(table, guide_case->knowledge->faults[f].name, &guide_case->own[f],
                            dw_guide_case_own_alike(guide_case, f));
    for (size_t i = 0; i < guide_case->own_unlisted_count; i++)
        add_own_row(table, guide_case->own_unlisted[i].cause, &guide_case->own_unlisted[i].share, NAN);
    dw_sheet_remark(sheet,
                    "%.0f deck%s of this shop with a confirmed cause count%s, %.0f of this model. Leave them out with "
                    "shop.own=no.",
                    guide_case->own_all.decks, guide_case->own_all.decks == 1 ? "" : "s",
                    guide_case->own_all.decks == 1 ? "s" : "", guide_case->own_all.of_model);
    if (guide_case->own_unlisted_count)
        dw_sheet_remark(
            sheet,
            "Causes found here that the guide does not list: %zu. Each makes it likelier that this cause too is on "
            "no list; add to data/guide what comes again.",
            guide_case->own_unlisted_count);
}

static void add_questions(const DwGuideCase *guide_case, const DwGuideStep *step, DwSheet *sheet)
{
    static const char *const columns[] = {"key|Key||0", "ask|Question||0", "before|Answered before||0", NULL};
    const DwGuideKnowledge *knowledge = guide_case->knowledge;
    DwTable *table = dw_sheet_add_table(sheet, "guide.questions", "What to answer next", columns);
    if (step->drive) {
        size_t row = dw_table_add_row(table);
        dw_table_set_word(table, row, 0, "drive.kind");
        dw_table_set_word(table, row, 1, dw_guide_drive_question);
        dw_table_set_word(table, row, 2, "");
    }
    for (size_t sign = 0; sign < knowledge->sign_count; sign++) {
        if (!dw_guide_step_asks(guide_case, step, sign))
            continue;
        char *name = dw_guide_sign_name(&knowledge->signs[sign]);
        size_t row = dw_table_add_row(table);
        dw_table_set_word(table, row, 0, name);
        dw_table_set_word(table, row, 1, knowledge->signs[sign].ask);
        dw_table_set_word(table, row, 2, step->again ? dw_guide_answer_word(guide_case->evidence[sign].answer) : "");
        free(name);
    }
}

static void describe_step(const DwGuideCase *guide_case, const DwGuideStep *step, DwSheet *sheet)
{
    if (step->test < 0)
        return;
    const DwGuideTest *test = &guide_case->knowledge->tests[step->test];
    DwText text = {0};
    for (size_t i = 0; i < test->does.count; i++)
        dw_text_add(&text, "%s%s", i ? " " : "", test->does.texts[i]);
    dw_sheet_remark(sheet, "Next%s: %s. %s Takes %g min; tools: %s.", step->again ? ", look again" : "", test->name,
                    text.chars, test->minutes, test->tools);
    dw_text_clear(&text);
    if (test->caution)
        dw_sheet_caution(sheet, "%s", test->caution);
}

static void add_steps(const DwGuideCase *guide_case, const DwGuideReasons *reasons, DwSheet *sheet)
{
    static const char *const columns[] = {"key|Key||0",   "minutes|Minutes|min|0", "bits|Tells|bit|2",
                                          "risk|Risk||0", "name|What||0",          NULL};
    const DwGuideKnowledge *knowledge = guide_case->knowledge;
    DwTable *table = dw_sheet_add_table(sheet, "guide.next", "Worth trying next", columns);
    for (size_t i = 0; i < reasons->step_count && i < STEPS_SHOWN; i++) {
        const DwGuideStep *step = &reasons->steps[i];
        const DwGuideTest *test = step->test < 0 ? NULL : &knowledge->tests[step->test];
        char *key = test          ? dw_text_format("test.%s", test->key)
                    : step->drive ? dw_memory_text("drive.kind")
                                  : dw_guide_sign_name(&knowledge->signs[step->symptom]);
        size_t row = dw_table_add_row(table);
        dw_table_set_word(table, row, 0, key);
        dw_table_set_number(table, row, 1, test ? test->minutes : 1);
        dw_table_set_number(table, row, 2, step->bits);
        dw_table_set_word(table, row, 3, test ? test->risk_word : "none");
        char *name = test          ? dw_text_format("%s%s", step->again ? "Look again: " : "", test->name)
                     : step->drive ? dw_memory_text(dw_guide_drive_question)
                                   : dw_memory_text(knowledge->signs[step->symptom].ask);
        dw_table_set_word(table, row, 4, name);
        free(name);
        free(key);
    }
    add_questions(guide_case, &reasons->steps[0], sheet);
    describe_step(guide_case, &reasons->steps[0], sheet);
}

// Answers that cannot both be so, each pair once.
static void remark_contradictions(const DwGuideCase *guide_case, DwSheet *sheet)
{
    const DwGuideKnowledge *knowledge = guide_case->knowledge;
    for (size_t i = 0; i < knowledge->sign_count; i++)
        for (size_t k = 0; k < knowledge->signs[i].against_count; k++) {
            size_t other = knowledge->signs[i].against[k];
            bool twice = false;
            for (size_t m = 0; other < i && m < knowledge->signs[other].against_count; m++)
                twice |= knowledge->signs[other].against[m] == i;
            if (!twice && guide_case->evidence[i].answer == DW_GUIDE_YES &&
                guide_case->evidence[other].answer == DW_GUIDE_YES)
                dw_sheet_remark(sheet,
                                "These answers contradict each other: “%s” and “%s”, both yes. Look again, or "
                                "take one back.",
                                knowledge->signs[i].ask, knowledge->signs[other].ask);
        }
}

// What a complaint asks to be heeded at once; what spoke of danger and was tested is no reason to be careless.
static void warn_of_complaints(const DwGuideCase *guide_case, DwSheet *sheet)
{
    const DwGuideKnowledge *knowledge = guide_case->knowledge;
    for (size_t i = 0; i < knowledge->symptom_count; i++) {
        bool yes = guide_case->evidence[i].answer == DW_GUIDE_YES;
        if (yes && knowledge->signs[i].caution)
            dw_sheet_caution(sheet, "%s", knowledge->signs[i].caution);
    }
    if (dw_guide_case_was_dangerous(guide_case))
        dw_sheet_caution(sheet, "%s", dw_guide_after_danger);
}

// A yes that nothing on this kind of deck can cause.
static void remark_impossible(const DwGuideCase *guide_case, DwSheet *sheet)
{
    const DwGuideKnowledge *knowledge = guide_case->knowledge;
    for (size_t i = 0; i < knowledge->sign_count; i++) {
        const DwGuideSign *sign = &knowledge->signs[i];
        bool possible = guide_case->evidence[i].answer != DW_GUIDE_YES || !sign->own_count;
        for (size_t k = 0; !possible && k < sign->own_count; k++)
            possible = dw_guide_case_prior(guide_case, sign->faults[k]) > 0;
        if (!possible)
            dw_sheet_remark(sheet,
                            "“%s” was answered with yes, but nothing on a deck of this kind makes it so. Look at "
                            "what was said of its drive and kind.",
                            sign->ask);
    }
}

// Danger keeps the deck unplugged until the test that finds it was passed; one that could not be told is not passed.
static void warn(const DwGuideCase *guide_case, const DwGuideReasons *reasons, DwSheet *sheet)
{
    const DwGuideKnowledge *knowledge = guide_case->knowledge;
    for (size_t i = 0; i < knowledge->test_count; i++) {
        bool failed = false;
        for (size_t k = 0; k < knowledge->tests[i].sign_count; k++)
            failed = failed || guide_case->evidence[knowledge->tests[i].signs[k]].answer == DW_GUIDE_YES;
        if (dw_guide_case_keeps_unplugged(guide_case, i))
            dw_sheet_caution(sheet, "Unplug the deck and leave it unplugged until %sthis is passed: %s.",
                             failed ? "it is put right and " : "", knowledge->tests[i].name);
    }
    if (dw_guide_case_is_dangerous(guide_case) && !reasons->step_count)
        dw_sheet_remark(sheet, "Nothing that needs the mains is to be tried before. Then take the answers back and ask "
                               "again.");
}

DwSheet *dw_guide_sheet(const DwGuideCase *guide_case, const DwGuideReasons *reasons, const DwGuideWorks *works)
{
    static const char *const standings[] = {"nothing said", "asking", "clear", "cannot tell"};
    DwSheet *sheet = dw_sheet_new("guide", "What is wrong with it");
    const DwGuideKnowledge *knowledge = guide_case->knowledge;
    bool said = reasons->standing != DW_GUIDE_NOTHING_SAID;
    dw_sheet_add_word(sheet, "guide.standing", "How it stands", standings[reasons->standing]);
    if (said && reasons->count) {
        dw_sheet_add_word(sheet, "guide.cause", "Likeliest cause", knowledge->faults[reasons->order[0]].name);
        dw_reading_set_method(
            dw_sheet_add_reading(sheet, "guide.odds", "Its odds", 100 * reasons->chance[reasons->order[0]], "%", 0),
            "noisy-or network over the answers and readings");
        dw_sheet_add_reading(sheet, "guide.none", "Nothing of the list", 100 * reasons->none, "%", 1);
        dw_sheet_add_reading(sheet, "guide.left_out", "Left out: more faults at once", 100 * reasons->left_out, "%", 2);
    }
    if (guide_case->unsafe) {
        dw_sheet_remark(sheet, "The book calls this deck unsafe (%s). That comes first.", guide_case->unsafe);
        dw_sheet_caution(sheet,
                         "Unsafe: %s. Leave the deck unplugged until that is put right and tested; make no test that "
                         "needs the mains before.",
                         guide_case->unsafe);
    }
    char *words = dw_guide_standing_words(guide_case, reasons);
    dw_sheet_remark(sheet, "%s", words);
    free(words);
    if (!said) {
        if (dw_guide_path_any(guide_case)) // without a complaint they wait for one
            dw_guide_path_add(guide_case, reasons, sheet);
        return sheet;
    }
    remark_contradictions(guide_case, sheet);
    remark_impossible(guide_case, sheet);
    warn_of_complaints(guide_case, sheet);
    warn(guide_case, reasons, sheet);
    add_causes(guide_case, reasons, sheet);
    if (reasons->standing == DW_GUIDE_ASKING)
        add_steps(guide_case, reasons, sheet);
    remark_reasons(guide_case, reasons, sheet);
    dw_guide_path_add(guide_case, reasons, sheet);
    add_own(guide_case, sheet);
    if (works->count)
        dw_guide_plan_add(guide_case->knowledge, works, sheet);
    return sheet;
}

DwSheet *dw_guide_path_sheet(const DwGuideCase *guide_case, const DwGuideReasons *reasons, bool plain)
{
    DwSheet *sheet = plain ? dw_sheet_new("guide", "What we asked and what it told us")
                           : dw_sheet_new("guide", "How the cause was found");
    bool said = reasons->standing != DW_GUIDE_NOTHING_SAID && reasons->count;
    if (said) {
        dw_sheet_add_word(sheet, "guide.cause", "Likeliest cause",
                          guide_case->knowledge->faults[reasons->order[0]].name);
        if (!plain)
            dw_sheet_add_reading(sheet, "guide.odds", "Its odds", 100 * reasons->chance[reasons->order[0]], "%", 0);
    }
    if (dw_guide_path_any(guide_case))
        dw_guide_path_add_read(guide_case, reasons, plain, sheet);
    char *words = dw_guide_standing_words(guide_case, reasons);
    dw_sheet_remark(sheet, "%s", words);
    free(words);
    if (said && !plain) {
        add_causes(guide_case, reasons, sheet);
        remark_reasons(guide_case, reasons, sheet);
        dw_sheet_remark(sheet, "A weight is the logarithm to the base 2 of how much likelier the answer is with the "
                               "likeliest cause than without any: above 0 it speaks for it, below 0 against it.");
    }
    return sheet;
}

// --- changed this: what now? --------------------------------------------------

static bool is_meant(const DwGuideSetting *setting, const char *what)
{
    const char *own = strchr(setting->key, '.');
    return strcasecmp(setting->key, what) == 0 || strcasecmp(own + 1, what) == 0 ||
           strcasecmp(setting->label, what) == 0 || strcasecmp(dw_said(setting->label), what) == 0;
}

static DwStatus find_setting(const char *what, int *found, DwMessage *message)
{
    DwText names = {0};
    const DwGuideSetting *setting;
    *found = -1;
    for (size_t i = 0; *found < 0 && (setting = dw_guide_setup_at(i)); i++) {
        if (is_meant(setting, what))
            *found = (int)i;
        dw_text_add(&names, "%s%s", i ? ", " : "", dw_said(setting->label));
    }
    DwStatus status =
        *found >= 0 ? DW_OK : dw_fail(message, DW_BAD_INPUT, "'%s' is no setting. There are: %s.", what, names.chars);
    dw_text_clear(&names);
    return status;
}

DwStatus dw_guide_recheck(const char *what, DwSheet **sheet, DwMessage *message)
{
    static const char *const columns[] = {"key|Key||0", "setting|Look at again||0", "why|Because||0", "how|With||0",
                                          NULL};
    int found;
    DwStatus status = find_setting(what, &found, message);
    if (status != DW_OK)
        return status;
    const DwGuideSetting *changed = dw_guide_setup_at((size_t)found);
    *sheet = dw_sheet_new("guide", "Changed: what to look at again");
    dw_sheet_add_word(*sheet, "guide.changed", "Changed", changed->label);
    DwTable *table = dw_sheet_add_table(*sheet, "guide.recheck", "In this order", columns);
    const DwGuideSetting *setting;
    const DwGuideBearing *bearing;
    for (size_t i = 0; (setting = dw_guide_setup_at(i)); i++)
        for (size_t k = 0; (bearing = dw_guide_setup_bearing_at(k)); k++) {
            if (strcmp(bearing->from, changed->key) != 0 || strcmp(bearing->to, setting->key) != 0)
                continue;
            size_t row = dw_table_add_row(table);
            dw_table_set_word(table, row, 0, setting->key);
            dw_table_set_word(table, row, 1, setting->label);
            dw_table_set_word(table, row, 2, bearing->why);
            dw_table_set_word(table, row, 3, setting->help);
        }
    if (!table->row_count)
        dw_sheet_remark(*sheet, "Nothing else depends on it.");
    return DW_OK;
}
