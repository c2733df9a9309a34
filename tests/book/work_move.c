// SPDX-License-Identifier: MIT
// Where the papers of a job say that it stands. Source (trade): the rules are the shop's own, common practice.
#include "book/entry/work_move.h"
#include "support/suite.h"

#include <string.h>

// What FACTS propose to a job in STATE; STATE itself when they propose nothing.
static DwJobState proposed(DwWorkFacts facts, DwJobState state)
{
    DwJobState next = state;
    const char *why = NULL;
    bool any = dw_work_move_propose(&facts, state, &next, &why);
    ck_assert(any == (next != state));
    ck_assert(!any || (why && *why));
    return next;
}

START_TEST(each_act_proposes_the_state_it_leads_to)
{
    DwWorkFacts facts = {0};
    ck_assert_int_eq(proposed(facts, DW_JOB_BOOKED), DW_JOB_BOOKED);
    facts.intake = true;
    ck_assert_int_eq(proposed(facts, DW_JOB_BOOKED), DW_JOB_RECEIVED);
    ck_assert_int_eq(proposed(facts, DW_JOB_RECEIVED), DW_JOB_RECEIVED);
    facts.as_received = 1;
    ck_assert_int_eq(proposed(facts, DW_JOB_RECEIVED), DW_JOB_MEASURING);
    facts.estimate = DW_LINE_DRAFT;
    ck_assert_int_eq(proposed(facts, DW_JOB_MEASURING), DW_JOB_ESTIMATING);
    facts.estimate = DW_LINE_ISSUED;
    ck_assert_int_eq(proposed(facts, DW_JOB_ESTIMATING), DW_JOB_WAITING_APPROVAL);
    facts.estimate = DW_LINE_ACCEPTED, facts.answer = DW_LINE_AGREED;
    ck_assert_int_eq(proposed(facts, DW_JOB_WAITING_APPROVAL), DW_JOB_ON_BENCH);
    facts.operations = 2, facts.operations_open = 1;
    ck_assert_int_eq(proposed(facts, DW_JOB_ON_BENCH), DW_JOB_ON_BENCH);
    facts.operations_open = 0;
    ck_assert_int_eq(proposed(facts, DW_JOB_ON_BENCH), DW_JOB_VERIFYING);
    facts.as_left = 1, facts.invoice = DW_LINE_INVOICE_ISSUED, facts.unpaid = 1;
    ck_assert_int_eq(proposed(facts, DW_JOB_VERIFYING), DW_JOB_READY);
    facts.signed_out = true;
    ck_assert_int_eq(proposed(facts, DW_JOB_READY), DW_JOB_READY);
    facts.unpaid = 0;
    ck_assert_int_eq(proposed(facts, DW_JOB_READY), DW_JOB_HANDED_OVER);
    ck_assert_int_eq(proposed(facts, DW_JOB_HANDED_OVER), DW_JOB_HANDED_OVER);
}
END_TEST

START_TEST(a_refusal_proposes_to_decline_and_a_part_that_is_waited_for_stays)
{
    DwWorkFacts facts = {.intake = true, .estimate = DW_LINE_DECLINED, .answer = DW_LINE_REFUSED};
    ck_assert_int_eq(proposed(facts, DW_JOB_WAITING_APPROVAL), DW_JOB_DECLINED);
    facts = (DwWorkFacts){.intake = true, .estimate = DW_LINE_ACCEPTED, .answer = DW_LINE_AGREED};
    ck_assert_int_eq(proposed(facts, DW_JOB_WAITING_PART), DW_JOB_WAITING_PART);
    // A newer version that nobody has answered takes the old answer's place.
    facts.estimate = DW_LINE_ISSUED;
    ck_assert_int_eq(proposed(facts, DW_JOB_ESTIMATING), DW_JOB_WAITING_APPROVAL);
}
END_TEST

static void ck_doubt(DwWorkFacts facts, DwJobState state, const char *words)
{
    const char *doubt = dw_work_move_doubt(&facts, state);
    if (!words)
        ck_assert_msg(doubt == NULL, "%s", doubt);
    else
        ck_assert_msg(doubt && strstr(doubt, words), "%s", doubt ? doubt : "no doubt");
}

START_TEST(a_state_that_the_papers_contradict_is_doubted)
{
    DwWorkFacts whole = {
        .intake = true, .as_left = 1, .operations = 1, .invoice = DW_LINE_INVOICE_ISSUED, .signed_out = true};
    ck_doubt(whole, DW_JOB_READY, NULL);
    ck_doubt(whole, DW_JOB_HANDED_OVER, NULL);
    ck_doubt(whole, DW_JOB_ON_BENCH, NULL);
    ck_doubt(whole, DW_JOB_BOOKED, "taken in already");
    ck_doubt(whole, DW_JOB_WAITING_APPROVAL, "No estimate");
    DwWorkFacts facts = whole;
    facts.intake = false;
    ck_doubt(facts, DW_JOB_MEASURING, "not taken in");
    facts = whole;
    facts.operations_open = 1;
    ck_doubt(facts, DW_JOB_VERIFYING, "not done yet");
    ck_doubt(facts, DW_JOB_READY, "not done yet");
    facts = whole;
    facts.as_left = 0;
    ck_doubt(facts, DW_JOB_READY, "measured as left");
    facts = whole;
    facts.invoice = DW_LINE_INVOICE_DRAFT;
    ck_doubt(facts, DW_JOB_READY, "No invoice");
    facts = whole;
    facts.unpaid = 1;
    ck_doubt(facts, DW_JOB_HANDED_OVER, "not paid");
    facts = whole;
    facts.signed_out = false;
    ck_doubt(facts, DW_JOB_HANDED_OVER, "Nobody signed");
    facts.answer = DW_LINE_AGREED;
    ck_doubt(facts, DW_JOB_DECLINED, "agreed");
    facts.answer = DW_LINE_REFUSED;
    ck_doubt(facts, DW_JOB_ON_BENCH, "does not want");
    ck_doubt(facts, DW_JOB_DECLINED, NULL);
    facts = whole;
    facts.estimate = DW_LINE_ISSUED;
    ck_doubt(facts, DW_JOB_ON_BENCH, "not answered");
    ck_doubt(facts, DW_JOB_WAITING_APPROVAL, NULL);
}
END_TEST

DW_SUITE("work move", each_act_proposes_the_state_it_leads_to,
         a_refusal_proposes_to_decline_and_a_part_that_is_waited_for_stays,
         a_state_that_the_papers_contradict_is_doubted)
