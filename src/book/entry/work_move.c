// SPDX-License-Identifier: MIT
#include "book/entry/work_move.h"

// A bit for each state of a job.
#define BIT(state) (1U << (state))
enum {
    BEFORE_ANSWER = BIT(DW_JOB_RECEIVED) | BIT(DW_JOB_MEASURING) | BIT(DW_JOB_ESTIMATING),
    BEFORE_BENCH = BEFORE_ANSWER | BIT(DW_JOB_WAITING_APPROVAL),
    UNDER_WORK = BIT(DW_JOB_ON_BENCH) | BIT(DW_JOB_WAITING_SOAK),
    BEFORE_READY = UNDER_WORK | BIT(DW_JOB_VERIFYING),
};

static bool is_signed_out(const DwWorkFacts *facts)
{
    return facts->signed_out && facts->unpaid == 0;
}

static bool is_ready(const DwWorkFacts *facts)
{
    return facts->invoice == DW_LINE_INVOICE_ISSUED && facts->as_left && !facts->operations_open && !facts->unsafe_open;
}

static bool is_answered(const DwWorkFacts *facts, DwLineAnswer answer)
{
    return facts->answer == answer && facts->estimate != DW_LINE_ISSUED && facts->estimate != DW_LINE_DRAFT;
}

static bool is_refused(const DwWorkFacts *facts)
{
    return is_answered(facts, DW_LINE_REFUSED);
}

static bool is_agreed(const DwWorkFacts *facts)
{
    return is_answered(facts, DW_LINE_AGREED);
}

static bool is_asked(const DwWorkFacts *facts)
{
    return facts->estimate == DW_LINE_ISSUED;
}

static bool is_worked(const DwWorkFacts *facts)
{
    return facts->operations > 0 && facts->operations_open == 0;
}

static bool is_begun(const DwWorkFacts *facts)
{
    return facts->operations > facts->operations_open;
}

static bool is_drafted(const DwWorkFacts *facts)
{
    return facts->estimate == DW_LINE_DRAFT;
}

static bool is_measured(const DwWorkFacts *facts)
{
    return facts->as_received > 0;
}

static bool is_here(const DwWorkFacts *facts)
{
    return facts->intake;
}

// The latest that happened stands first: what comes before it is past.
static const struct {
    bool (*holds)(const DwWorkFacts *facts);
    unsigned from; // the states that it leaves
    DwJobState to;
    const char *why;
} moves[] = {
    {is_signed_out, BIT(DW_JOB_READY) | BEFORE_READY, DW_JOB_HANDED_OVER, .why = "The hand-over is signed."},
    {is_ready, BEFORE_READY, DW_JOB_READY, .why = "The work is done, measured and billed."},
    {is_refused, BEFORE_BENCH, DW_JOB_DECLINED, .why = "The owner does not want the work."},
    {is_worked, BEFORE_BENCH | BIT(DW_JOB_ON_BENCH), DW_JOB_VERIFYING, .why = "All work is done."},
    {is_begun, BEFORE_ANSWER, DW_JOB_ON_BENCH, .why = "Work has begun."},
    {is_agreed, BEFORE_BENCH, DW_JOB_ON_BENCH, .why = "The owner agreed."},
    {is_asked, BEFORE_ANSWER, DW_JOB_WAITING_APPROVAL, .why = "The estimate is given out."},
    {is_drafted, BIT(DW_JOB_RECEIVED) | BIT(DW_JOB_MEASURING), DW_JOB_ESTIMATING, .why = "An estimate is started."},
    {is_measured, BIT(DW_JOB_RECEIVED), DW_JOB_MEASURING, .why = "It was measured as received."},
    {is_here, BIT(DW_JOB_BOOKED), DW_JOB_RECEIVED, .why = "The deck was taken in."},
};

bool dw_work_move_propose(const DwWorkFacts *facts, DwJobState state, DwJobState *next, const char **why)
{
    for (size_t i = 0; i < sizeof moves / sizeof *moves; i++) {
        if (!(moves[i].from & BIT(state)) || !moves[i].holds(facts) || dw_work_move_doubt(facts, moves[i].to))
            continue;
        *next = moves[i].to;
        *why = moves[i].why;
        return true;
    }
    return false;
}

static const char *doubt_work(const DwWorkFacts *facts)
{
    if (facts->answer == DW_LINE_REFUSED)
        return "The owner does not want the work.";
    return facts->estimate == DW_LINE_ISSUED ? "The owner has not answered the estimate." : NULL;
}

static const char *doubt_ready(const DwWorkFacts *facts)
{
    if (facts->operations_open)
        return "An operation is not done yet.";
    if (facts->operations && !facts->as_left)
        return "Nothing was measured as left.";
    return facts->invoice == DW_LINE_INVOICE_ISSUED ? NULL : "No invoice was issued.";
}

static const char *doubt_hand_over(const DwWorkFacts *facts)
{
    if (facts->unpaid > 0)
        return "The invoice is not paid.";
    return facts->signed_out ? NULL : "Nobody signed for it at hand-over.";
}

const char *dw_work_move_doubt(const DwWorkFacts *facts, DwJobState state)
{
    switch (state) {
    case DW_JOB_BOOKED:
        return facts->intake ? "The deck was taken in already." : NULL;
    case DW_JOB_RECEIVED:
    case DW_JOB_MEASURING:
    case DW_JOB_ESTIMATING:
    case DW_JOB_WAITING_PART:
    case DW_JOB_WAITING_SOAK:
        return facts->intake ? NULL : "The deck was not taken in yet.";
    case DW_JOB_WAITING_APPROVAL:
        return facts->estimate == DW_LINE_ISSUED ? NULL : "No estimate waits for an answer.";
    case DW_JOB_ON_BENCH:
        return doubt_work(facts);
    case DW_JOB_VERIFYING:
        return facts->operations_open ? "An operation is not done yet." : NULL;
    case DW_JOB_READY:
        return doubt_ready(facts);
    case DW_JOB_HANDED_OVER:
        return doubt_hand_over(facts);
    case DW_JOB_DECLINED:
        return facts->answer == DW_LINE_AGREED ? "The owner agreed to the work." : NULL;
    case DW_JOB_DISPOSED:
        break;
    }
    return NULL;
}
