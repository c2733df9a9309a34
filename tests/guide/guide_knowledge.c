// SPDX-License-Identifier: MIT
// The guide's files: what is shipped hangs together and harms nobody; what is wrong is said, with its line.
#include "base/place.h"
#include "guide/guide_check.h"
#include "guide/guide_knowledge.h"

#include "support/suite.h"

#include <stdio.h>
#include <stdlib.h>
#include <string.h>
#include <unistd.h>

enum { FILES = 5 };
static const char *const names[FILES] = {"faults.ini", "symptoms.ini", "findings.ini", "tests.ini", "remedies.ini"};
// A small set without fault, on which each test changes one line.
static const char *const good[FILES] = {
    "[slack]\nname = Belt slack\narea = belt\nprior = 0.1\nremedy = renew\nsource = common practice, no source\n",
    "[slow]\nask = Slow?\nphrases = drags\nleak = 0.01\nby = slack 0.5\nsource = common practice, no source\n",
    "[long]\nask = Long?\ntest = look\nleak = 0.01\nby = slack 0.9\nsource = common practice, no source\n",
    "[look]\nname = Look\ndo = Look at it.\nminutes = 5\ntools = rule\nrisk = none\nsource = common practice, no "
    "source\n",
    "[renew]\nname = Renew it\nminutes = 10 .. 15\norder = 4\nopens = top\ncaution = Unplug first.\n"
    "source = common practice, no source\n"};

// Reads the small set with WRONG in place of RIGHT in file FILE; the troubles, joined, are the caller's to free.
static char *troubles_of(size_t file, const char *right, const char *wrong)
{
    char folder[] = "/tmp/guide-XXXXXX", path[80];
    ck_assert_ptr_nonnull(mkdtemp(folder));
    for (size_t i = 0; i < FILES; i++) {
        snprintf(path, sizeof path, "%s/%s", folder, names[i]);
        FILE *stream = fopen(path, "w");
        const char *at = i == file ? strstr(good[i], right) : NULL;
        ck_assert(stream && (i != file || at));
        if (at)
            fprintf(stream, "%.*s%s%s", (int)(at - good[i]), good[i], wrong, at + strlen(right));
        else
            fputs(good[i], stream);
        fclose(stream);
    }
    DwGuideKnowledge knowledge;
    DwGuideTroubles troubles = {0};
    DwMessage message = {""};
    ck_assert_int_eq(dw_guide_knowledge_read(folder, &knowledge, &troubles, &message), DW_OK);
    char *all = calloc(1, 4096);
    for (size_t i = 0; i < troubles.count; i++)
        strncat(strncat(all, troubles.lines[i], 600), "\n", 2);
    dw_guide_troubles_clear(&troubles);
    dw_guide_knowledge_clear(&knowledge);
    for (size_t i = 0; i < FILES; i++) {
        snprintf(path, sizeof path, "%s/%s", folder, names[i]);
        unlink(path);
    }
    rmdir(folder);
    return all;
}

START_TEST(test_small_set_is_good)
{
    char *all = troubles_of(0, "Belt", "Belt");
    ck_assert_str_eq(all, "");
    free(all);
}
END_TEST

START_TEST(test_each_mistake_is_said)
{
    static const struct {
        size_t file;
        const char *right, *wrong, *said;
    } rows[] = {
        {0, "prior = 0.1", "prior = 1.1", "faults.ini:2: [slack] prior lies between 0 and 1."},
        {0, "prior = 0.1", "prior = often", "[slack] prior: 'often' is no number."},
        {0, "prior = 0.1\n", "", "[slack] says no prior."},
        {0, "remedy = renew", "remedy = renw", "there is no remedy 'renw'"},
        {0, "remedy = renew\n", "", "[slack] says no remedy."},
        {0, "area = belt", "area = belt\ndrives = rope", "'rope' is no drive"},
        {0, "area = belt", "area = belt\nhas = wings", "'wings' is nothing that a deck has"},
        {0, "area = belt", "area = belt\ncolour = red", "'colour' is nothing that this file can say"},
        {0, "source = common practice, no source", "old = 0", "[slack] says no source."},
        {0, "area = belt", "old = 40\narea = belt", "old is a factor"},
        {1, "by = slack 0.5", "by = slak 0.5", "there is no fault 'slak'"},
        {1, "by = slack 0.5", "by = slack 1.5", "a chance lies between 0 and 1"},
        {1, "by = slack 0.5", "by = slack", "a chance lies between 0 and 1"},
        {1, "by = slack 0.5", "by = slack 0.5, slack 0.4", "slack stands twice"},
        {1, "leak = 0.01", "leak = 0", "leak lies between 0 and 1"},
        {1, "phrases = drags", "phrases = drags\nfirst = nothing", "there is no test 'nothing'"},
        {1, "source = common practice, no source\n", "", "[slow] says no source."},
        {2, "test = look", "test = lok", "there is no test 'lok'"},
        {2, "test = look", "test = lok", "[look] no finding of findings.ini comes from it"},
        {2, "[long]", "[long]\nask = Twice?", "[long] ask stands twice"},
        {2, "test = look", "test = look\nreading = speed.error over 2 %", "reading is written KEY above"},
        {2, "test = look", "test = look\nreading = speed.error above much", "reading is written KEY above"},
        {2, "test = look", "test = look\nline = motor below 2", "line is written PART above NUMBER"},
        {3, "minutes = 5", "minutes = 500", "minutes lie between 0 and 240"},
        {3, "risk = none", "risk = low", "has a risk and says no caution"},
        {3, "risk = none", "risk = some", "risk is none, low, medium or high"},
        {3, "source = common practice, no source\n", "", "[look] says no source."},
        {4, "minutes = 10 .. 15", "minutes = 15 .. 10", "minutes are written"},
        {4, "minutes = 10 .. 15\n", "", "says neither operation nor minutes"},
        {4, "order = 4", "order = 40", "order lies between 1 and 12"},
        {4, "opens = top", "opens = lid", "opens is nothing, top"},
        {4, "caution = Unplug first.\n", "", "[renew] says no caution."},
        {4, "[renew]", "[other]", "[other] no fault is put right by it"},
        {4, "caution = Unplug first.", "mains = yes\ncaution = Unplug first.", "[renew] opens the mains side"},
        {4, "caution = Unplug first.", "mains = yes\ncaution = Licensed people only.", "[renew] opens the mains side"},
        {4, "caution = Unplug first.", "caution = Unplug first.\nnever = Polish it.", "does not read as a warning"},
    };
    for (size_t i = 0; i < sizeof rows / sizeof *rows; i++) {
        char *all = troubles_of(rows[i].file, rows[i].right, rows[i].wrong);
        ck_assert_msg(strstr(all, rows[i].said) != NULL, "row %zu: wanted '%s', got '%s'", i, rows[i].said, all);
        free(all);
    }
}
END_TEST

// Each kind of harm in other words than the rules use, wherever advice may stand.
START_TEST(test_harmful_advice_is_refused)
{
    static const struct {
        size_t file;
        const char *right, *wrong;
    } rows[] = {
        {4, "name = Renew it", "name = Put a drop of oil on the belt"},
        {4, "name = Renew it", "name = Dress the belt with silicone"},
        {4, "caution = Unplug first.", "caution = Unplug first. Then grease the trip clutch."},
        {4, "opens = top", "opens = top\nlubricant = platter rim: a film of light oil"},
        {4, "opens = top", "opens = top\nlubricant = trip pawl: one drop of oil"},
        {4, "opens = top", "opens = top\nlubricant = belt: a touch of grease"},
        {4, "opens = top", "opens = top\nparts = oil for the idler's tyre"},
        {4, "name = Renew it", "name = Boil the belt for two minutes"},
        {4, "name = Renew it", "name = Shrink the belt in hot water"},
        {4, "name = Renew it", "name = Heat the belt with a hair dryer"},
        {3, "do = Look at it.", "do = Measure the coils of the cartridge with an ohmmeter."},
        {3, "do = Look at it.", "do = Put a meter across the moving coil."},
        {3, "do = Look at it.", "do = Measure the resistance of the cartridge."},
        {3, "do = Look at it.", "do = Turn each trimmer until it is right."},
        {4, "name = Renew it", "name = Adjust the trimmers by ear"},
        {4, "name = Renew it", "name = Fit a larger fuse"},
        {4, "name = Renew it", "name = Disconnect the protective earth"},
        {4, "name = Renew it", "name = Spray the mechanism with penetrating oil"},
    };
    for (size_t i = 0; i < sizeof rows / sizeof *rows; i++) {
        char *all = troubles_of(rows[i].file, rows[i].right, rows[i].wrong);
        ck_assert_msg(strstr(all, "advises harm") != NULL, "let through: %s (%s)", rows[i].wrong, all);
        free(all);
    }
}
END_TEST

// What warns against harm is no harm.
START_TEST(test_warnings_are_let_through)
{
    static const char *const rows[] = {
        "caution = Never heat a belt.",
        "caution = Wipe every trace of oil from belt and rim.",
        "caution = Mark each trimmer's place before it is turned.",
        "caution = Never disconnect the protective earth.",
    };
    for (size_t i = 0; i < sizeof rows / sizeof *rows; i++) {
        char *all = troubles_of(4, "caution = Unplug first.", rows[i]);
        ck_assert_msg(strcmp(all, "") == 0, "%s: %s", rows[i], all);
        free(all);
    }
}
END_TEST

START_TEST(test_shipped_files)
{
    static const char *const areas[] = {"drive",     "motor",       "bearing", "belt",    "idler",
                                        "arm",       "cartridge",   "stylus",  "cabling", "muting",
                                        "automatic", "electronics", "chassis", "room",    "record"};
    DwGuideKnowledge knowledge;
    DwGuideTroubles troubles = {0};
    DwMessage message = {""};
    char folder[4200];
    snprintf(folder, sizeof folder, "%s/guide", dw_data_folder());
    ck_assert_int_eq(dw_guide_knowledge_read(folder, &knowledge, &troubles, &message), DW_OK);
    ck_assert_msg(troubles.count == 0, "%s", troubles.count ? troubles.lines[0] : "");
    ck_assert_uint_ge(knowledge.fault_count, 80);
    for (size_t a = 0; a < sizeof areas / sizeof *areas; a++) {
        bool found = false;
        for (size_t i = 0; i < knowledge.fault_count; i++)
            found |= strcmp(knowledge.faults[i].area, areas[a]) == 0;
        ck_assert_msg(found, "no fault in %s", areas[a]);
    }
    dw_guide_troubles_clear(&troubles);
    dw_guide_knowledge_clear(&knowledge);
}
END_TEST

DW_SUITE("guide_knowledge", test_small_set_is_good, test_each_mistake_is_said, test_harmful_advice_is_refused,
         test_warnings_are_let_through, test_shipped_files)
