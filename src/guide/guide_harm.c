// SPDX-License-Identifier: MIT
// Each sentence that advises something is held against rules: words that together are harmful,
// and words that make them harmless. What stands in `never` is advice against it.
#include "base/text.h"
#include "guide/guide_check.h"

#include <ctype.h>
#include <stdlib.h>
#include <string.h>

enum { WORDS_MOST = 16 };

typedef struct {
    const char *what[WORDS_MOST];  // one of these in a sentence
    const char *where[WORDS_MOST]; // with one of these
    const char *unless[WORDS_MOST]; // and none of these
    const char *why;
} Rule;

// clang-format off
static const Rule rules[] = {
    {{"oil", "grease", "lubricat", "silicone", "wd"}, {"belt", "rim", "tyre", "pulley", "clutch", "pawl", "trip", "idler face"},
     {"clean", "wipe", "away from", "dry", "never", "no ", "nothing", "of oil", "oily", "where it took up", "drive surfaces", "oiled", "gummed", "old grease", "between"},
     "lubricant near belt, rim, pulley or trip clutch"},
    {{"boil", "hot water", "heat", "oven", "hair dryer", "stretch back", "shrink"}, {"belt", "tyre"}, {"never", "not "}, "a belt treated with heat"},
    {{"meter", "ohm", "continuity", "resistance"}, {"cartridge", "coil", "clip", "arm wire"},
     {"cartridge off", "cartridge disconnected", "disconnected first", "no meter", "winding", "load", "capacitance", "can harm"}, "a meter on a connected cartridge"},
    {{"turn", "adjust", "set "}, {"trimmer", "trim pot"}, {"mark", "not turned", "sealing", "was", "never", "not "}, "a trimmer turned unmarked"},
    {{"larger fuse", "bridge the fuse", "fuse bridged", "bypass"}, {"fuse"}, {"never"}, "a fuse defeated"},
    {{"remove", "lift", "disconnect", "take off"}, {"protective earth", "mains earth", "safety earth"}, {"never"}, "protective earth taken off"},
    {{"penetrating oil"}, {"spray", "soak", "use"}, {"never"}, "penetrating oil"},
};
// clang-format on

static bool has(const char *sentence, const char *const *words)
{
    for (size_t i = 0; i < WORDS_MOST && words[i]; i++)
        if (strstr(sentence, words[i]))
            return true;
    return false;
}

static void hold(const char *file, const char *key, unsigned line, const char *sentence, DwGuideTroubles *troubles)
{
    for (size_t i = 0; i < sizeof rules / sizeof *rules; i++)
        if (has(sentence, rules[i].what) && has(sentence, rules[i].where) && !has(sentence, rules[i].unless))
            dw_guide_trouble(troubles, file, line, "[%s] advises harm (%s): '%s'.", key, rules[i].why, sentence);
}

// Holds each sentence of TEXT, in small letters, against the rules.
static void hold_text(const char *file, const char *key, unsigned line, const char *text, DwGuideTroubles *troubles)
{
    for (const char *at = text ? text : ""; *at;) {
        size_t length = strcspn(at, ".");
        char *sentence = dw_text_format("%.*s", (int)length, at);
        for (char *letter = sentence; *letter; letter++)
            *letter = (char)tolower((unsigned char)*letter);
        hold(file, key, line, sentence, troubles);
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
    bool dead = strstr(text, "nplug") || strstr(text, "solating") || strstr(text, "nly by whoever is licensed");
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
        bool against = strstr(text, "ever") || strstr(text, "othing") || strstr(text, "dry") || strncmp(text, "No ", 3) == 0;
        if (!against)
            dw_guide_trouble(troubles, "remedies.ini", remedy->never.lines[i],
                             "[%s] never = '%s' does not read as a warning. Begin it with Never.", remedy->key, text);
    }
}

void dw_guide_harm(const DwGuideKnowledge *knowledge, DwGuideTroubles *troubles)
{
    for (size_t i = 0; i < knowledge->test_count; i++) {
        const DwGuideTest *test = &knowledge->tests[i];
        char *whole = dw_text_format("%s", test->name ? test->name : "");
        hold_text("tests.ini", test->key, test->line, whole, troubles);
        free(whole);
        DwText done = {0};
        for (size_t k = 0; k < test->does.count; k++)
            dw_text_add(&done, "%s ", test->does.texts[k]);
        for (char *at = done.chars; at && *at; at++)
            *at = *at == '.' ? ';' : *at; // what is done first makes what follows harmless
        hold_text("tests.ini", test->key, test->line, done.chars, troubles);
        dw_text_clear(&done);
        hold_text("tests.ini", test->key, test->line, test->caution, troubles);
        hold_mains("tests.ini", test->key, test->line, test->mains, test->caution, troubles);
    }
    for (size_t i = 0; i < knowledge->remedy_count; i++) {
        const DwGuideRemedy *remedy = &knowledge->remedies[i];
        hold_text("remedies.ini", remedy->key, remedy->line, remedy->name, troubles);
        hold_text("remedies.ini", remedy->key, remedy->line, remedy->parts, troubles);
        hold_text("remedies.ini", remedy->key, remedy->line, remedy->caution, troubles);
        for (size_t k = 0; k < remedy->lubricant.count; k++)
            hold_text("remedies.ini", remedy->key, remedy->lubricant.lines[k], remedy->lubricant.texts[k], troubles);
        hold_mains("remedies.ini", remedy->key, remedy->line, remedy->mains, remedy->caution, troubles);
        hold_never(remedy, troubles);
    }
}
