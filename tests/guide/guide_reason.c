// SPDX-License-Identifier: MIT
// Odds against a sum over every set of faults, written here anew; answers, readings and steps in their direction.
// tests/cli/guide.py holds the same against a model in another language.
#include "guide/guide_reason.h"
#include "guide/guide_work.h"

#include "support/suite.h"

#include <math.h>
#include <string.h>

enum { FAULTS = 7, SIGNS = 5, TESTS = 2, SYMPTOMS = 2, MEASURE = 2 };

// A network that is all in memory: fault f makes sign s with chances[s][f].
static const double priors[FAULTS] = {0.1, 0.3, 0.05, 0.2, 0.15, 0.25, 0.4};
static const double leaks[SIGNS] = {0.02, 0.05, 0.1, 0.03, 0.01};
static const double chances[SIGNS][FAULTS] = {{0.8, 0.3, 0, 0.5, 0.2, 0.1, 0.4},
                                              {0, 0.6, 0.9, 0.1, 0.4, 0.3, 0},
                                              {0.9, 0, 0, 0, 0.3, 0.7, 0.2},
                                              {0.1, 0.8, 0.2, 0, 0, 0.4, 0.6},
                                              {0, 0, 0.95, 0.9, 0, 0.2, 0.3}};
static size_t places[SIGNS][FAULTS], first_signs[] = {2, 3}, second_signs[] = {4};
static double linked[SIGNS][FAULTS];
static DwGuideFault faults[FAULTS];
static DwGuideSign signs[SIGNS];
static DwGuideTest rows[TESTS];
static DwGuideKnowledge knowledge;
static bool measures; // sign MEASURE measures complaint 0

static void build(void)
{
    memset(signs, 0, sizeof signs);
    for (size_t f = 0; f < FAULTS; f++)
        faults[f] = (DwGuideFault){.key = "fault",
                                   .name = "Fault",
                                   .prior = priors[f],
                                   .by_drive = {NAN, NAN, NAN},
                                   .old = NAN,
                                   .on = {true, true, true},
                                   .trait = -1};
    for (size_t s = 0; s < SIGNS; s++) {
        signs[s] = (DwGuideSign){.key = "sign",
                                 .ask = "Is it so?",
                                 .leak = leaks[s],
                                 .symptom = s < SYMPTOMS,
                                 .is_measure = measures && s == MEASURE,
                                 .from_test = s < SYMPTOMS ? -1
                                              : s < 4      ? 0
                                                           : 1,
                                 .faults = places[s],
                                 .chances = linked[s]};
        for (size_t f = 0; f < FAULTS; f++)
            if (chances[s][f] > 0) {
                places[s][signs[s].fault_count] = f;
                linked[s][signs[s].fault_count++] = chances[s][f];
            }
        signs[s].own_count = signs[s].fault_count;
    }
    rows[0] = (DwGuideTest){.key = "first", .minutes = 5, .signs = first_signs, .sign_count = 2};
    rows[1] = (DwGuideTest){.key = "second", .minutes = 5, .signs = second_signs, .sign_count = 1};
    knowledge = (DwGuideKnowledge){faults, signs, rows, NULL, FAULTS, SIGNS, SYMPTOMS, TESTS, 0};
}

// What fault FAULT makes be said oftener than what was brought in would have been named four times in five.
static double unsaid(size_t fault, const DwGuideAnswer answers[SIGNS])
{
    double most = 0, silent = 1;
    for (size_t s = 0; s < SYMPTOMS; s++)
        most = fmax(most, answers[s] == DW_GUIDE_YES ? chances[s][fault] : 0);
    for (size_t s = 0; s < SYMPTOMS; s++)
        if (most > 0 && answers[s] == DW_GUIDE_OPEN && chances[s][fault] > most)
            silent *= 1 - 0.8 * chances[s][fault];
    return silent;
}

// Of the set SET (a bit for each fault): prior times likelihood of what is answered. The figures are those of
// docs/methods/guide.md.
static double weight_of(unsigned set, const DwGuideAnswer answers[SIGNS])
{
    double weight = set || answers[0] == DW_GUIDE_YES || answers[1] == DW_GUIDE_YES ? 1 : 0.1;
    for (size_t f = 0; f < FAULTS; f++)
        if (set >> f & 1)
            weight *= 0.4 * unsaid(f, answers) * priors[f] / (1 - priors[f]);
    double truly[2] = {1, 1}; // where complaint 0 is truly so, and where it is not
    for (size_t s = SIGNS; s-- > 0;) {
        bool brought = s < SYMPTOMS && answers[s] == DW_GUIDE_YES;
        double not_so = 1 - leaks[s] * (brought ? 0.1 : 1), wrong = s < SYMPTOMS ? 0.0005 : 0.15;
        for (size_t f = 0; f < FAULTS; f++)
            not_so *= set >> f & 1 ? 1 - chances[s][f] : 1;
        if (s == 0) {
            weight *= truly[0] * (1 - not_so) * (answers[0] == DW_GUIDE_YES ? 0.85 : 0.15) +
                      truly[1] * not_so * (answers[0] == DW_GUIDE_YES ? wrong : 1 - wrong);
            continue;
        }
        for (int k = 0; k < 2; k++) {
            double so = 1 - not_so * (measures && s == MEASURE && k == 0 ? 0.1 : 1);
            if (answers[s] == DW_GUIDE_YES)
                truly[k] *= 0.85 * so + wrong * (1 - so);
            if (answers[s] == DW_GUIDE_NO)
                truly[k] *= 0.15 * so + (1 - wrong) * (1 - so);
        }
    }
    return weight;
}

static double calibrated(double share)
{
    return 1 / (1 + pow(share / (1 - share), -1.17) * exp(-0.35));
}

static unsigned size_of(unsigned set)
{
    unsigned size = 0;
    for (; set; set >>= 1)
        size += set & 1;
    return size;
}

static void weigh(const DwGuideAnswer answers[SIGNS], DwGuideReasons *reasons)
{
    DwGuideCase guide_case;
    dw_guide_case_init(&guide_case, &knowledge);
    for (size_t s = 0; s < SIGNS; s++)
        if (answers[s] != DW_GUIDE_OPEN)
            dw_guide_case_answer(&guide_case, s, answers[s]);
    dw_guide_reason(&guide_case, reasons);
    dw_guide_case_clear(&guide_case);
}

// Whether fault FAULT of the set makes complaint 0 or 1 more often than the others of it.
static bool is_behind(unsigned set, size_t fault)
{
    bool behind[2] = {chances[0][fault] > 0, chances[1][fault] > 0};
    for (size_t f = 0; f < FAULTS; f++)
        for (size_t c = 0; c < 2; c++)
            behind[c] &= !(set >> f & 1) || f == fault || chances[c][f] < chances[c][fault];
    return behind[0] || behind[1];
}

// Likelier than not by the odds, then by the share of the sets in which the fault is behind a complaint, then by the
// odds. WHOLE is what all sets count; those with less than 0.0003 of it are left out.
static void check_order(const DwGuideAnswer answers[SIGNS], double whole, const DwGuideReasons *reasons)
{
    double rank[FAULTS] = {0};
    for (unsigned set = 0; set < 1u << FAULTS; set++) {
        double share = size_of(set) <= 4 ? weight_of(set, answers) / whole : 0;
        for (size_t f = 0; f < FAULTS && share >= 3e-4; f++)
            rank[f] += set >> f & 1 && is_behind(set, f) ? share : 0;
    }
    for (size_t i = 0; i + 1 < reasons->count; i++) {
        size_t a = reasons->order[i], b = reasons->order[i + 1];
        if (reasons->chance[a] > 0.5 || reasons->chance[b] > 0.5)
            ck_assert(reasons->chance[a] >= reasons->chance[b]);
        else
            ck_assert(rank[a] >= rank[b] - 1e-12);
        if (rank[a] == 0 && rank[b] == 0)
            ck_assert(reasons->chance[a] >= reasons->chance[b]);
    }
}

// For every pattern of answers that points at all faults: odds and what is left out, without and with a finding that
// measures a complaint.
static void compare_with_full_sum(void)
{
    build();
    for (unsigned pattern = 0; pattern < 81; pattern++) {
        DwGuideAnswer answers[SIGNS] = {DW_GUIDE_YES, DW_GUIDE_YES};
        unsigned rest = pattern % 27;
        for (size_t s = 2; s < SIGNS; s++, rest /= 3)
            answers[s] = (DwGuideAnswer[]){DW_GUIDE_OPEN, DW_GUIDE_YES, DW_GUIDE_NO}[rest % 3];
        DwGuideReasons reasons;
        weigh(answers, &reasons);
        ck_assert_uint_eq(reasons.at_once, 4);
        double all = 0, few = 0, each[FAULTS] = {0}, none = weight_of(0, answers);
        for (unsigned set = 0; set < 1u << FAULTS; set++) {
            double weight = weight_of(set, answers);
            all += weight;
            few += size_of(set) <= 4 ? weight : 0;
            for (size_t f = 0; f < FAULTS; f++)
                each[f] += size_of(set) <= 4 && set >> f & 1 ? weight : 0;
        }
        check_order(answers, few, &reasons);
        for (size_t f = 0; f < FAULTS; f++)
            ck_assert_double_eq_tol(reasons.chance[f], calibrated(each[f] / few), 1e-12);
        ck_assert_double_eq_tol(reasons.none, none / few, 1e-12);
        ck_assert_double_eq_tol(reasons.left_out, 1 - few / all, 1e-9);
        ck_assert(reasons.left_out > 0);
        dw_guide_reasons_clear(&reasons);
    }
}

START_TEST(test_odds_against_full_sum)
{
    compare_with_full_sum();
    measures = true;
    compare_with_full_sum();
    measures = false;
}
END_TEST

// A finding that measures what was complained of says little more of the cause, and the odds keep their order.
START_TEST(test_a_measure_adds_little)
{
    const DwGuideAnswer answers[SIGNS] = {DW_GUIDE_YES, DW_GUIDE_OPEN, DW_GUIDE_YES};
    DwGuideReasons apart, measured;
    build();
    weigh((DwGuideAnswer[SIGNS]){DW_GUIDE_YES}, &apart);
    double before = apart.chance[0], by_itself, as_measure;
    dw_guide_reasons_clear(&apart);
    weigh(answers, &apart);
    by_itself = apart.chance[0];
    dw_guide_reasons_clear(&apart);
    measures = true;
    build();
    weigh(answers, &measured);
    as_measure = measured.chance[0];
    dw_guide_reasons_clear(&measured);
    measures = false;
    ck_assert(as_measure > before && as_measure - before < 0.3 * (by_itself - before));
}
END_TEST

// The odds of ANSWERS by the sum over all sets; an open complaint 0 weighs nothing but by being left unsaid.
static void check_odds(const DwGuideAnswer answers[SIGNS], const DwGuideReasons *reasons)
{
    double total = 0, each[FAULTS] = {0};
    for (unsigned set = 0; set < 1u << FAULTS; set++) {
        double weight = size_of(set) <= 4 ? weight_of(set, answers) : 0, not_so = 1 - leaks[0];
        for (size_t f = 0; f < FAULTS; f++)
            not_so *= set >> f & 1 ? 1 - chances[0][f] : 1;
        if (answers[0] == DW_GUIDE_OPEN)
            weight /= 0.15 * (1 - not_so) + (1 - 0.0005) * not_so;
        total += weight;
        for (size_t f = 0; f < FAULTS; f++)
            each[f] += set >> f & 1 ? weight : 0;
    }
    for (size_t f = 0; f < FAULTS; f++)
        ck_assert_double_eq_tol(reasons->chance[f], calibrated(each[f] / total), 1e-12);
}

// Whoever names the lesser complaint alone has hardly the fault that makes another oftener. Where that other was asked
// for, what was answered counts, and nothing is left unsaid.
START_TEST(test_what_was_left_unsaid)
{
    build();
    const DwGuideAnswer open[SIGNS] = {DW_GUIDE_OPEN, DW_GUIDE_YES, DW_GUIDE_YES, DW_GUIDE_YES, DW_GUIDE_YES};
    const DwGuideAnswer denied[SIGNS] = {DW_GUIDE_NO, DW_GUIDE_YES, DW_GUIDE_YES, DW_GUIDE_YES, DW_GUIDE_YES};
    DwGuideReasons reasons;
    weigh(open, &reasons);
    check_odds(open, &reasons);
    dw_guide_reasons_clear(&reasons);
    weigh(denied, &reasons);
    check_odds(denied, &reasons);
    dw_guide_reasons_clear(&reasons);
    ck_assert(unsaid(3, open) < 0.7 && unsaid(3, denied) == 1 && unsaid(2, open) == 1);
}
END_TEST

START_TEST(test_odds_keep_their_order)
{
    double last = 0;
    for (int i = 1; i < 1000; i++) {
        double chance = dw_guide_calibrated(i / 1000.0);
        ck_assert(chance > last && chance < 1);
        last = chance;
    }
    ck_assert_double_eq(dw_guide_calibrated(0), 0);
    ck_assert_double_eq(dw_guide_calibrated(1), 1);
}
END_TEST

// A complaint alone makes no cause clear while a test would tell; a finding for it does.
START_TEST(test_clear_by_what_was_seen)
{
    build();
    for (size_t f = 0; f < FAULTS; f++)
        faults[f].prior = f == 6 ? 0.49 : 0.02;
    DwGuideReasons said, seen;
    weigh((DwGuideAnswer[SIGNS]){DW_GUIDE_YES}, &said);
    ck_assert_uint_eq(said.found, 1);
    ck_assert_int_ne(said.standing, DW_GUIDE_CLEAR);
    weigh((DwGuideAnswer[SIGNS]){DW_GUIDE_YES, DW_GUIDE_OPEN, DW_GUIDE_OPEN, DW_GUIDE_YES}, &seen);
    ck_assert_int_eq(seen.standing, DW_GUIDE_CLEAR);
    dw_guide_reasons_clear(&said);
    dw_guide_reasons_clear(&seen);
}
END_TEST

START_TEST(test_answers_move_the_odds_their_way)
{
    build();
    DwGuideReasons open, yes, no, unknown;
    weigh((DwGuideAnswer[SIGNS]){DW_GUIDE_YES, DW_GUIDE_YES}, &open);
    weigh((DwGuideAnswer[SIGNS]){DW_GUIDE_YES, DW_GUIDE_YES, DW_GUIDE_YES}, &yes);
    weigh((DwGuideAnswer[SIGNS]){DW_GUIDE_YES, DW_GUIDE_YES, DW_GUIDE_NO}, &no);
    weigh((DwGuideAnswer[SIGNS]){DW_GUIDE_YES, DW_GUIDE_YES, DW_GUIDE_UNKNOWN}, &unknown);
    ck_assert(yes.chance[0] > open.chance[0] && open.chance[0] > no.chance[0]); // sign 2 is made by fault 0
    for (size_t f = 0; f < FAULTS; f++)
        ck_assert_double_eq_tol(unknown.chance[f], open.chance[f], 1e-15);
    dw_guide_reasons_clear(&open);
    dw_guide_reasons_clear(&yes);
    dw_guide_reasons_clear(&no);
    dw_guide_reasons_clear(&unknown);
}
END_TEST

START_TEST(test_taken_back_is_as_before)
{
    build();
    DwGuideCase guide_case;
    DwGuideReasons before, after;
    dw_guide_case_init(&guide_case, &knowledge);
    dw_guide_case_answer(&guide_case, 0, DW_GUIDE_YES);
    dw_guide_reason(&guide_case, &before);
    dw_guide_case_answer(&guide_case, 2, DW_GUIDE_YES);
    dw_guide_case_answer(&guide_case, 2, DW_GUIDE_OPEN);
    dw_guide_reason(&guide_case, &after);
    for (size_t f = 0; f < FAULTS; f++)
        ck_assert(before.chance[f] == after.chance[f]);
    ck_assert_uint_eq(before.step_count, after.step_count);
    dw_guide_reasons_clear(&before);
    dw_guide_reasons_clear(&after);
    dw_guide_case_clear(&guide_case);
}
END_TEST

static void link_to(size_t sign, size_t count, const size_t *of, double chance)
{
    for (size_t i = 0; i < count; i++) {
        places[sign][i] = of[i];
        linked[sign][i] = chance;
    }
    signs[sign].fault_count = signs[sign].own_count = count;
}

// What is behind the second complaint is worth asking though the first has its cause.
START_TEST(test_each_complaint_is_asked_about)
{
    build();
    faults[2].prior = faults[3].prior;
    link_to(0, 1, (size_t[]){0}, 0.9);
    link_to(1, 2, (size_t[]){2, 3}, 0.9);
    link_to(2, 0, NULL, 0);
    link_to(3, 0, NULL, 0);
    link_to(4, 1, (size_t[]){2}, 0.95);
    DwGuideReasons reasons;
    weigh((DwGuideAnswer[SIGNS]){DW_GUIDE_YES, DW_GUIDE_YES}, &reasons);
    ck_assert(reasons.chance[0] > 0.9);
    ck_assert_int_eq(reasons.standing, DW_GUIDE_ASKING);
    ck_assert_int_eq(reasons.steps[0].test, 1);
    ck_assert(reasons.steps[0].bits > 0.2);
    dw_guide_reasons_clear(&reasons);
}
END_TEST

// What is asked already is not asked again, and a dearer or riskier test comes later for the same information.
START_TEST(test_steps)
{
    build();
    DwGuideReasons reasons;
    weigh((DwGuideAnswer[SIGNS]){DW_GUIDE_YES, DW_GUIDE_NO, DW_GUIDE_UNKNOWN, DW_GUIDE_NO}, &reasons);
    ck_assert_uint_eq(reasons.step_count, 2);
    ck_assert_int_eq(reasons.steps[0].test, 1);
    ck_assert(!reasons.steps[0].again);
    ck_assert_int_eq(reasons.steps[1].test, 0); // its one finding that was told may be looked at again
    ck_assert(reasons.steps[1].again);
    ck_assert(reasons.steps[0].bits > 0);
    double worth = reasons.steps[0].worth, bits = reasons.steps[0].bits;
    dw_guide_reasons_clear(&reasons);
    rows[1].risk = DW_GUIDE_RISK_HIGH;
    weigh((DwGuideAnswer[SIGNS]){DW_GUIDE_YES, DW_GUIDE_NO, DW_GUIDE_UNKNOWN, DW_GUIDE_NO}, &reasons);
    ck_assert_double_eq_tol(reasons.steps[0].bits, bits, 1e-15);
    ck_assert(reasons.steps[0].worth < worth);
    dw_guide_reasons_clear(&reasons);
}
END_TEST

// A complaint that speaks of danger puts its test first, however little it tells.
START_TEST(test_safety_comes_first)
{
    build();
    size_t safety[] = {1};
    DwGuideReasons reasons;
    rows[1].minutes = 200;
    weigh((DwGuideAnswer[SIGNS]){DW_GUIDE_YES}, &reasons);
    ck_assert_int_ne(reasons.steps[0].test, 1);
    dw_guide_reasons_clear(&reasons);
    signs[0].first_tests = safety;
    signs[0].first_count = 1;
    weigh((DwGuideAnswer[SIGNS]){DW_GUIDE_YES}, &reasons);
    ck_assert_int_eq(reasons.steps[0].test, 1);
    ck_assert_int_eq(reasons.standing, DW_GUIDE_ASKING);
    dw_guide_reasons_clear(&reasons);
}
END_TEST

static double chance_by_sheet(double value, double uncertainty)
{
    char *rule = "speed.error above 0.5 %";
    unsigned line = 1;
    DwGuideCase guide_case;
    DwGuideReasons reasons;
    signs[2].reading = (DwGuideTexts){&rule, &line, 1};
    dw_guide_case_init(&guide_case, &knowledge);
    dw_guide_case_answer(&guide_case, 0, DW_GUIDE_YES);
    DwSheet *sheet = dw_sheet_new("speed", "Speed");
    dw_sheet_add_reading(sheet, "speed.error", "Speed error", value, "%", 2)->uncertainty = uncertainty;
    ck_assert_uint_eq(dw_guide_case_take_sheet(&guide_case, sheet), 1);
    dw_guide_reason(&guide_case, &reasons);
    double chance = reasons.chance[0];
    dw_sheet_free(sheet);
    dw_guide_reasons_clear(&reasons);
    dw_guide_case_clear(&guide_case);
    return chance;
}

START_TEST(test_readings_count_as_their_uncertainty_allows)
{
    build();
    DwGuideReasons open;
    weigh((DwGuideAnswer[SIGNS]){DW_GUIDE_YES}, &open);
    double far = chance_by_sheet(1.0, 0.05), near = chance_by_sheet(0.6, 0.3), below = chance_by_sheet(0.1, 0.05);
    ck_assert(far > near && near > open.chance[0] && open.chance[0] > below);
    dw_guide_reasons_clear(&open);
    // On the bound, or with a ± far beyond it, the reading says nothing of this sign; only who may have made it
    // counts among the weighed.
    ck_assert_double_eq_tol(chance_by_sheet(0.5, 0.1), chance_by_sheet(0.5, 10), 1e-9);
}
END_TEST

START_TEST(test_work_in_order)
{
    build();
    DwGuideRemedy remedies[] = {{.key = "leads", .order = 10, .opens = "underside"},
                                {.key = "bearing", .order = 3, .opens = "top"},
                                {.key = "safety", .order = 1, .opens = "underside"}};
    size_t of[3][2] = {{0, 1}, {2, 0}, {1, 0}}, wanted[] = {2, 1, 0}, found[] = {0, 1, 2};
    knowledge.remedies = remedies;
    knowledge.remedy_count = 3;
    for (size_t f = 0; f < 3; f++) {
        faults[f].remedies = of[f];
        faults[f].remedy_count = f == 2 ? 1 : 2;
    }
    DwGuideWorks works;
    dw_guide_work_for(&knowledge, found, 3, &works);
    ck_assert_uint_eq(works.count, 3); // none twice
    for (size_t i = 0; i < 3; i++)
        ck_assert_uint_eq(works.works[i].remedy, wanted[i]);
    free(works.works);
}
END_TEST

// (50·p + n)/(50 + N), where N counts the decks that may have the fault: of an automatic's own those that are
// automatic.
START_TEST(test_own_decks_count_among_their_kind)
{
    build();
    DwGuideCase guide_case;
    dw_guide_case_init(&guide_case, &knowledge);
    guide_case.drive = DW_GUIDE_BELT;
    faults[0].trait = DW_GUIDE_AUTOMATIC;
    guide_case.traits[DW_GUIDE_AUTOMATIC] = 1;
    double common = dw_guide_case_prior(&guide_case, 1), own = dw_guide_case_prior(&guide_case, 0);
    size_t brought = 0;
    dw_guide_case_answer(&guide_case, brought, DW_GUIDE_YES);
    double leak = dw_guide_case_leak(&guide_case, brought);
    const DwGuideShare with[DW_GUIDE_TRAITS] = {[DW_GUIDE_AUTOMATIC] = {.decks = 10}};
    dw_guide_case_own_all(&guide_case, (DwGuideShare){.decks = 100}, with);
    dw_guide_case_own(&guide_case, 0, (DwGuideShare){.decks = 5});
    dw_guide_case_own(&guide_case, 1, (DwGuideShare){.decks = 5});
    ck_assert_double_eq_tol(dw_guide_case_prior(&guide_case, 0), (50 * own + 5) / 60, 1e-12);
    ck_assert_double_eq_tol(dw_guide_case_prior(&guide_case, 1), (50 * common + 5) / 150, 1e-12);
    // One in ten complaints comes of nothing on the list, until the shop counted its own.
    ck_assert_double_eq_tol(dw_guide_case_leak(&guide_case, brought), leak * 5 / 150 / 0.1, 1e-12);
    dw_guide_case_own_unlisted(&guide_case, "A nest of mice", (DwGuideShare){.decks = 40});
    ck_assert_double_eq_tol(dw_guide_case_leak(&guide_case, brought), leak * 45 / 150 / 0.1, 1e-12);
    guide_case.without_own = true;
    ck_assert_double_eq_tol(dw_guide_case_leak(&guide_case, brought), leak, 1e-12);
    ck_assert_double_eq_tol(dw_guide_case_prior(&guide_case, 0), own, 1e-12);
    dw_guide_case_clear(&guide_case);
    faults[0].trait = -1;
}
END_TEST

DW_SUITE("guide_reason", test_odds_against_full_sum, test_a_measure_adds_little, test_what_was_left_unsaid,
         test_odds_keep_their_order, test_clear_by_what_was_seen, test_answers_move_the_odds_their_way,
         test_taken_back_is_as_before, test_each_complaint_is_asked_about, test_steps, test_safety_comes_first,
         test_readings_count_as_their_uncertainty_allows, test_work_in_order, test_own_decks_count_among_their_kind)
