// SPDX-License-Identifier: MIT
#include "guide/guide_network.h"

#include "base/memory.h"

#include <math.h>
#include <stdlib.h>
#include <string.h>

static const double answer_wrong = 0.15; // as in guide_case.c, for an answer still to come
static const double told_least = 1e-6;   // rounding
// Minutes that every step costs beside its own, and what its risk counts as. Common practice, no source.
static const double every_step = 25, risk_minutes[] = {0, 1, 6, 15}, question_minutes = 1;
enum { TOGETHER_MOST = 6 }; // findings of a test that are weighed together

// --- what each would tell ------------------------------------------------------

// What is left of "not so" for one sign by each weighed fault, and where none of them is there; how likely what was
// answered before is, and how likely the next answer is yes, where the sign is so and where it is not.
typedef struct {
    double *keep; // of each of the network's faults
    double none, before_if_so, before_if_not, yes_if_so, yes_if_not;
    const DwGuideEvidence *complaint; // that it measures, where that was answered; else NULL
    double *complaint_keep, complaint_none;
} Column;

static double *keep_of(const DwGuideNetwork *network, const DwGuideCase *guide_case, size_t sign)
{
    double *keep = dw_memory_new(network->relevant_count + 1, sizeof *keep);
    const DwGuideSign *row = &guide_case->knowledge->signs[sign];
    bool brought = dw_guide_case_was_brought(guide_case, sign);
    for (size_t r = 0; r < network->relevant_count; r++)
        keep[r] = brought ? 1 - dw_guide_case_chance(guide_case, sign, network->relevant[r]) : 1;
    for (size_t i = 0; i < row->fault_count && !brought; i++)
        if (network->place[row->faults[i]] < network->relevant_count)
            keep[network->place[row->faults[i]]] = 1 - row->chances[i];
    return keep;
}

static Column column_of(const DwGuideNetwork *network, const DwGuideCase *guide_case, size_t place)
{
    const DwGuideSign *sign = &guide_case->knowledge->signs[place];
    const DwGuideEvidence *evidence = &guide_case->evidence[place];
    Column column = {.keep = keep_of(network, guide_case, place),
                     .none = 1 - dw_guide_case_leak(guide_case, place),
                     .before_if_so = evidence->if_so,
                     .before_if_not = evidence->if_not,
                     .yes_if_so = 1 - answer_wrong,
                     .yes_if_not = answer_wrong};
    if (dw_guide_case_may_look_again(guide_case, place))
        dw_guide_case_second_look(guide_case, place, &column.yes_if_so, &column.yes_if_not);
    if (dw_guide_case_measures(guide_case, place)) {
        column.complaint = &guide_case->evidence[sign->measured];
        column.complaint_keep = keep_of(network, guide_case, sign->measured);
        column.complaint_none = 1 - dw_guide_case_leak(guide_case, sign->measured);
    }
    return column;
}

// How likely the answer would be yes, were SET what is wrong.
static double would_answer_yes(const Column *column, const DwGuideSet *set)
{
    double not_so = column->none, complaint_not_so = column->complaint_none;
    for (unsigned i = 0; i < set->count; i++) {
        not_so *= column->keep[set->faults[i]];
        complaint_not_so *= column->complaint ? column->complaint_keep[set->faults[i]] : 1;
    }
    if (column->complaint)
        not_so = dw_guide_measured_not_so(column->complaint, complaint_not_so, not_so);
    double so = (1 - not_so) * column->before_if_so;
    not_so *= column->before_if_not;
    return (so * column->yes_if_so + not_so * column->yes_if_not) / (so + not_so);
}

// Entropy of COUNT shares that add up to TOTAL, times TOTAL.
static double spread(const double *shares, size_t count, double total)
{
    double bits = 0;
    for (size_t i = 0; i < count; i++)
        bits -= shares[i] > 0 ? shares[i] * log2(shares[i] / total) : 0;
    return bits;
}

// What the outcome tells of the class, where BY_CLASS holds the shares of COUNT outcomes for each of CLASSES.
static double told_of_class(const double *by_class, size_t classes, size_t count)
{
    double all[1 << TOGETHER_MOST] = {0}, total = 0, known = 0;
    for (size_t c = 0; c < classes; c++) {
        double share = 0;
        for (size_t o = 0; o < count; o++) {
            share += by_class[c * count + o];
            all[o] += by_class[c * count + o];
        }
        known += spread(by_class + c * count, count, share);
        total += share;
    }
    return total > 0 ? fmax(0, spread(all, count, total) - known) : 0;
}

// Adds what SET would make likely of the outcomes of COUNT questions to OUTCOMES. Given the set, answers are
// independent of one another.
static void add_outcomes(const DwGuideSet *set, const Column *columns, size_t count, double *outcomes)
{
    double share[1 << TOGETHER_MOST]; // each is written before it is read: to clear them all cost most of a page
    share[0] = set->weight;
    for (size_t s = 0; s < count; s++) {
        double yes = would_answer_yes(&columns[s], set);
        for (size_t o = 0; o < (size_t)1 << s; o++) {
            share[o + ((size_t)1 << s)] = share[o] * yes;
            share[o] *= 1 - yes;
        }
    }
    for (size_t o = 0; o < (size_t)1 << count; o++)
        outcomes[o] += share[o];
}

// Expected information from the answers to COUNT signs, asked together, about which class the set is of.
static double information(const DwGuideNetwork *network, const DwGuideCase *guide_case, const size_t *signs,
                          size_t count)
{
    size_t classes = network->class_count, outcomes = (size_t)1 << count;
    double *by_class = dw_memory_new(classes * outcomes, sizeof *by_class);
    Column columns[TOGETHER_MOST];
    for (size_t s = 0; s < count; s++)
        columns[s] = column_of(network, guide_case, signs[s]);
    for (size_t i = 0; i < network->set_count; i++)
        add_outcomes(&network->sets[i], columns, count, by_class + network->sets[i].class * outcomes);
    for (size_t s = 0; s < count; s++) {
        free(columns[s].keep);
        free(columns[s].complaint_keep);
    }
    double bits = told_of_class(by_class, classes, outcomes);
    free(by_class);
    return bits;
}

// Whether a fault that is weighed makes SIGN.
static bool bears(const DwGuideSign *sign, const DwGuideReasons *reasons)
{
    for (size_t i = 0; i < sign->fault_count; i++)
        if (reasons->weighed[sign->faults[i]])
            return true;
    return false;
}

// Whether SIGN is still to be answered, or with AGAIN to be looked at a second time.
static bool is_open(const DwGuideCase *guide_case, size_t sign, bool again, const DwGuideReasons *reasons)
{
    bool open =
        again ? dw_guide_case_may_look_again(guide_case, sign) : guide_case->evidence[sign].answer == DW_GUIDE_OPEN;
    return open && bears(&guide_case->knowledge->signs[sign], reasons);
}

// The findings of TEST that are open, into SIGNS, which has room for all; how many.
static size_t open_signs(const DwGuideCase *guide_case, const DwGuideTest *test, bool again,
                         const DwGuideReasons *reasons, size_t *signs)
{
    size_t count = 0;
    for (size_t i = 0; i < test->sign_count; i++)
        if (is_open(guide_case, test->signs[i], again, reasons))
            signs[count++] = test->signs[i];
    return count;
}

// The TOGETHER_MOST findings of TEST that tell most, into SIGNS; how many.
static size_t best_signs(const DwGuideCase *guide_case, const DwGuideNetwork *network, const DwGuideTest *test,
                         bool again, const DwGuideReasons *reasons, size_t signs[TOGETHER_MOST])
{
    double bits[TOGETHER_MOST + 1];
    size_t count = 0, places[TOGETHER_MOST + 1], *open = dw_memory_new(test->sign_count + 1, sizeof *open),
           open_count = open_signs(guide_case, test, again, reasons, open);
    // Of so few none is left out, and what they tell together does not go by their order.
    if (open_count <= TOGETHER_MOST)
        count = open_count;
    memcpy(places, open, count * sizeof *places);
    for (size_t i = 0; open_count > TOGETHER_MOST && i < open_count; i++) {
        size_t place = count;
        double own = information(network, guide_case, &open[i], 1);
        for (; place > 0 && bits[place - 1] < own; place--) {
            bits[place] = bits[place - 1];
            places[place] = places[place - 1];
        }
        bits[place] = own;
        places[place] = open[i];
        count += count < TOGETHER_MOST;
    }
    memcpy(signs, places, count * sizeof *signs);
    free(open);
    return count;
}

// How likely each drive is, were SET what is wrong, by what the faults' priors on each drive are.
static void drives_given(const DwGuideCase *guide_case, const DwGuideNetwork *network, const DwGuideSet *set,
                         double shares[DW_GUIDE_DRIVES])
{
    double total = 0;
    for (size_t d = 0; d < DW_GUIDE_DRIVES; d++) {
        shares[d] = dw_guide_drive_share(d);
        for (unsigned i = 0; i < set->count; i++)
            shares[d] *= dw_guide_drive_prior(guide_case, network->relevant[set->faults[i]], d);
        total += shares[d];
    }
    for (size_t d = 0; d < DW_GUIDE_DRIVES; d++)
        shares[d] = total > 0 ? shares[d] / total : dw_guide_drive_share(d);
}

// The same of the question which drive it has, which is seen at a glance.
static double drive_information(const DwGuideCase *guide_case, const DwGuideNetwork *network)
{
    size_t classes = network->class_count;
    double *by_class = dw_memory_new(classes * DW_GUIDE_DRIVES, sizeof *by_class);
    for (size_t i = 0; i < network->set_count; i++) {
        const DwGuideSet *set = &network->sets[i];
        double shares[DW_GUIDE_DRIVES];
        drives_given(guide_case, network, set, shares);
        for (size_t d = 0; d < DW_GUIDE_DRIVES; d++)
            by_class[set->class * DW_GUIDE_DRIVES + d] += set->weight * shares[d];
    }
    double bits = told_of_class(by_class, classes, DW_GUIDE_DRIVES);
    free(by_class);
    return bits;
}

static void add_step(DwGuideReasons *reasons, DwGuideStep step, double minutes)
{
    if (step.bits < told_least)
        return;
    step.worth = step.bits / (minutes + every_step);
    reasons->steps[reasons->step_count++] = step;
}

// A test that keeps the deck unplugged: what of it is open, else all of it once more.
static void add_safety(const DwGuideCase *guide_case, size_t place, DwGuideReasons *reasons)
{
    const DwGuideTest *test = &guide_case->knowledge->tests[place];
    bool open = false, may = false;
    for (size_t i = 0; i < test->sign_count; i++) {
        open |= guide_case->evidence[test->signs[i]].answer == DW_GUIDE_OPEN;
        may |= dw_guide_case_may_look_again(guide_case, test->signs[i]);
    }
    if (open || may)
        reasons->steps[reasons->step_count++] = (DwGuideStep){.test = (int)place, .again = !open, .worth = 1};
}

// A test of which nothing is open may be looked at again.
static void add_test(const DwGuideCase *guide_case, const DwGuideNetwork *network, size_t place,
                     DwGuideReasons *reasons)
{
    const DwGuideTest *test = &guide_case->knowledge->tests[place];
    if (dw_guide_case_keeps_unplugged(guide_case, place)) { // asked whatever it tells
        add_safety(guide_case, place, reasons);
        return;
    }
    for (size_t i = 0; i < test->against_count; i++)
        if (guide_case->evidence[test->against[i]].answer == DW_GUIDE_YES)
            return;
    size_t signs[TOGETHER_MOST], count = best_signs(guide_case, network, test, false, reasons, signs);
    bool again = !count;
    if (again)
        count = best_signs(guide_case, network, test, true, reasons, signs);
    if (!count)
        return;
    DwGuideStep step = {.test = (int)place, .again = again, .bits = information(network, guide_case, signs, count)};
    add_step(reasons, step, test->minutes + risk_minutes[test->risk]);
}

static void add_steps(const DwGuideCase *guide_case, const DwGuideNetwork *network, DwGuideReasons *reasons)
{
    const DwGuideKnowledge *knowledge = guide_case->knowledge;
    for (size_t i = 0; i < knowledge->test_count; i++)
        add_test(guide_case, network, i, reasons);
    for (size_t i = 0; i < knowledge->symptom_count; i++)
        if (is_open(guide_case, i, false, reasons))
            add_step(reasons, (DwGuideStep){.test = -1, .symptom = i, .bits = information(network, guide_case, &i, 1)},
                     question_minutes);
    if (guide_case->drive < 0 && !guide_case->drive_asked && network->set_count > 1)
        add_step(reasons, (DwGuideStep){.test = -1, .drive = true, .bits = drive_information(guide_case, network)}, 0);
}

// --- in what order -------------------------------------------------------------

// Tests that must be passed before the deck is plugged in.
static void mark_safety(const DwGuideCase *guide_case, DwGuideReasons *reasons)
{
    for (size_t s = 0; s < reasons->step_count; s++)
        reasons->steps[s].safety =
            reasons->steps[s].test >= 0 && dw_guide_case_keeps_unplugged(guide_case, (size_t)reasons->steps[s].test);
}

// A deck that is to stay unplugged is offered nothing but the tests that may let it be plugged in again.
static void drop_unsafe(const DwGuideCase *guide_case, DwGuideReasons *reasons)
{
    if (!dw_guide_case_is_dangerous(guide_case))
        return;
    size_t kept = 0;
    for (size_t s = 0; s < reasons->step_count; s++)
        if (reasons->steps[s].safety)
            reasons->steps[kept++] = reasons->steps[s];
    reasons->step_count = kept;
}

static bool comes_before(const DwGuideStep *a, const DwGuideStep *b)
{
    return a->safety != b->safety ? a->safety : a->worth > b->worth;
}

static void sort_steps(DwGuideReasons *reasons)
{
    for (size_t i = 1; i < reasons->step_count; i++) {
        DwGuideStep step = reasons->steps[i];
        size_t place = i;
        for (; place > 0 && comes_before(&step, &reasons->steps[place - 1]); place--)
            reasons->steps[place] = reasons->steps[place - 1];
        reasons->steps[place] = step;
    }
}

void dw_guide_steps(const DwGuideCase *guide_case, const DwGuideNetwork *network, DwGuideReasons *reasons)
{
    add_steps(guide_case, network, reasons);
    mark_safety(guide_case, reasons);
    drop_unsafe(guide_case, reasons);
    sort_steps(reasons);
}

bool dw_guide_step_asks(const DwGuideCase *guide_case, const DwGuideStep *step, size_t sign)
{
    if (step->test < 0)
        return !step->drive && step->symptom == sign;
    if (guide_case->knowledge->signs[sign].from_test != step->test)
        return false;
    return step->again ? dw_guide_case_may_look_again(guide_case, sign)
                       : guide_case->evidence[sign].answer == DW_GUIDE_OPEN;
}
