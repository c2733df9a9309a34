// SPDX-License-Identifier: MIT
// Each sentence that advises something is held against patterns of harm, and of what makes it harmless. What
// stands in `never` is advice against something, and must read so.
#include "base/text.h"
#include "base/tongue.h"
#include "guide/guide_check.h"

#include <assert.h>
#include <regex.h>
#include <stdlib.h>
#include <string.h>

#define GRIPS "(belt|rim|tyre|pulley|clutch|pawl|trip)"
#define LUBRICANT "(oil|grease|silicone|wax|lubricant)"

typedef struct {
    const char *harm, *harmless, *why;
} Rule;

static const Rule rules[] = {
    {LUBRICANT "[^.;]* " GRIPS "|(lubricat|dress)[a-z]* [^.;]*" GRIPS "|" GRIPS "[^.;]*: [^.;]*" LUBRICANT "|" GRIPS
               "[^.;]* (with|gets|needs|wants|takes) [^.;]*" LUBRICANT "|" GRIPS
               "[^.;]* (oil|grease|lubricate|dress) (it|them)",
     "never|nothing|wipe|away from|stays? dry|clear of", "lubricant near belt, rim, pulley or trip clutch"},
    {"(boil|hot water|heat|oven|hair dryer|shrink)[^.;]*(belt|tyre)|(belt|tyre)[^.;]*(boil|hot water|heat|oven|shrink)",
     "never|do not", "a belt treated with heat"},
    {"(meter|ohm|resistance|continuity)[^.]*(cartridge|coil)|(cartridge|coil)[^.]*(meter|ohm|resistance|continuity)",
     "cartridge (is )?(off|disconnected)|disconnected first|cartridge off|can harm|capacitance|never",
     "a meter on a connected cartridge"},
    {"(turn|adjust|set|tweak|trim)[a-z]* [^.;]*(trimmer|trim pot)|(trimmer|trim pot)[^.;]*(turn|adjust|set |tweak)",
     "mark|do not|never|not turned|sealing|whose place", "a trimmer turned unmarked"},
    {"(larger|bigger|stronger) fuse|(bridge|bypass)[a-z]* [^.;]*fuse|fuse[^.;]*(bridg|bypass)", "never|do not",
     "a fuse defeated"},
    {"(remove|lift|disconnect|take|cut)[a-z]* [^.;]*(protective|mains|safety) earth", "never|do not",
     "protective earth taken off"},
    {"(spray|soak|flood|use)[a-z]* [^.;]*(penetrating oil|oil)", "never|do not", "a part flooded with oil"},
};
enum { RULES = sizeof rules / sizeof *rules };

// The rules ready for use.
typedef struct {
    regex_t harm[RULES], harmless[RULES];
} Patterns;

static void patterns_init(Patterns *patterns)
{
    for (size_t i = 0; i < RULES; i++) {
        int bad = regcomp(&patterns->harm[i], rules[i].harm, REG_EXTENDED | REG_ICASE | REG_NOSUB) |
                  regcomp(&patterns->harmless[i], rules[i].harmless, REG_EXTENDED | REG_ICASE | REG_NOSUB);
        assert(!bad);
        (void)bad;
    }
}

static void patterns_clear(Patterns *patterns)
{
    for (size_t i = 0; i < RULES; i++) {
        regfree(&patterns->harm[i]);
        regfree(&patterns->harmless[i]);
    }
}

typedef struct {
    const Patterns *patterns;
    DwGuideTroubles *troubles;
} Holding;

static void hold(const Holding *holding, const char *file, const char *key, unsigned line, const char *sentence)
{
    for (size_t i = 0; i < RULES; i++)
        if (regexec(&holding->patterns->harm[i], sentence, 0, NULL, 0) == 0 &&
            regexec(&holding->patterns->harmless[i], sentence, 0, NULL, 0) != 0)
            dw_guide_trouble(holding->troubles, file, line, "[%s] advises harm (%s): '%s'.", key, dw_said(rules[i].why),
                             sentence);
}

// Holds each sentence of TEXT against the rules.
static void hold_text(const Holding *holding, const char *file, const char *key, unsigned line, const char *text)
{
    for (const char *at = text ? text : ""; *at;) {
        size_t length = strcspn(at, ".");
        char *sentence = dw_text_format("%.*s", (int)length, at);
        hold(holding, file, key, line, sentence);
        free(sentence);
        at += length + (at[length] == '.');
    }
}

// A caution for mains work speaks of the plug and of who may do it.
static void hold_mains(const char *file, const char *key, unsigned line, const char *mains, const char *caution,
                       DwGuideTroubles *troubles)
{
    bool is_mains = mains && strcmp(mains, "yes") == 0;
    if (mains && !is_mains && strcmp(mains, "no") != 0)
        dw_guide_trouble(troubles, file, line, "[%s] mains is yes or no.", key);
    const char *text = caution ? caution : "";
    bool dead = strstr(text, "nplug");
    bool law = strstr(text, "icensed") || strstr(text, "ocal codes");
    if (is_mains && !(dead && law))
        dw_guide_trouble(troubles, file, line,
                         "[%s] opens the mains side: its caution must say to unplug and whom local codes license.",
                         key);
}

static void hold_never(const DwGuideRemedy *remedy, DwGuideTroubles *troubles)
{
    for (size_t i = 0; i < remedy->never.count; i++) {
        const char *text = remedy->never.texts[i];
        bool against =
            strstr(text, "ever") || strstr(text, "othing") || strstr(text, "dry") || strncmp(text, "No ", 3) == 0;
        if (!against)
            dw_guide_trouble(troubles, "remedies.ini", remedy->never.lines[i],
                             "[%s] never = '%s' does not read as a warning. Begin it with Never.", remedy->key, text);
    }
}

// A test's steps are one sentence: what is done first may make harmless what follows.
static void hold_test(const Holding *holding, const DwGuideTest *test)
{
    DwText done = {0};
    for (size_t k = 0; k < test->does.count; k++)
        dw_text_add(&done, "%s ", test->does.texts[k]);
    for (char *at = done.chars; at && *at; at++)
        *at = *at == '.' || *at == ';' ? ',' : *at;
    hold_text(holding, "tests.ini", test->key, test->line, test->name);
    hold_text(holding, "tests.ini", test->key, test->line, done.chars);
    hold_text(holding, "tests.ini", test->key, test->line, test->caution);
    hold_mains("tests.ini", test->key, test->line, test->mains, test->caution, holding->troubles);
    dw_text_clear(&done);
}

static void hold_remedy(const Holding *holding, const DwGuideRemedy *remedy)
{
    hold_text(holding, "remedies.ini", remedy->key, remedy->line, remedy->name);
    hold_text(holding, "remedies.ini", remedy->key, remedy->line, remedy->parts);
    hold_text(holding, "remedies.ini", remedy->key, remedy->line, remedy->tools);
    hold_text(holding, "remedies.ini", remedy->key, remedy->line, remedy->caution);
    for (size_t k = 0; k < remedy->torque.count; k++)
        hold_text(holding, "remedies.ini", remedy->key, remedy->torque.lines[k], remedy->torque.texts[k]);
    for (size_t k = 0; k < remedy->lubricant.count; k++)
        hold_text(holding, "remedies.ini", remedy->key, remedy->lubricant.lines[k], remedy->lubricant.texts[k]);
    hold_mains("remedies.ini", remedy->key, remedy->line, remedy->mains, remedy->caution, holding->troubles);
    hold_never(remedy, holding->troubles);
}

void dw_guide_harm(const DwGuideKnowledge *knowledge, DwGuideTroubles *troubles)
{
    Patterns patterns;
    Holding holding = {&patterns, troubles};
    patterns_init(&patterns);
    for (size_t i = 0; i < knowledge->test_count; i++)
        hold_test(&holding, &knowledge->tests[i]);
    for (size_t i = 0; i < knowledge->remedy_count; i++)
        hold_remedy(&holding, &knowledge->remedies[i]);
    patterns_clear(&patterns);
}
