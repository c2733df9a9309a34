// SPDX-License-Identifier: MIT
#include "book/entry/work_line.h"

#include "book/money/consent.h"
#include "book/money/credit.h"
#include "book/money/invoice.h"
#include "book/store/private.h"

#include <string.h>

static const struct {
    const char *key, *word;
} names[DW_STATION_COUNT] = {
    [DW_STATION_INTAKE] = {"intake", "Intake"},
    [DW_STATION_SAFETY] = {"safety", "Safety"},
    [DW_STATION_AS_RECEIVED] = {"as-received", "As received"},
    [DW_STATION_FINDINGS] = {"findings", "Findings"},
    [DW_STATION_ESTIMATE] = {"estimate", "Estimate"},
    [DW_STATION_WORK] = {"work", "Work"},
    [DW_STATION_SET_UP] = {"set-up", "Set-up"},
    [DW_STATION_AS_LEFT] = {"as-left", "As left"},
    [DW_STATION_PAPERS] = {"papers", "Papers"},
};

const char *dw_station_key(DwStationKind kind)
{
    return names[kind].key;
}

const char *dw_station_word(DwStationKind kind)
{
    return names[kind].word;
}

static DwStation done(void)
{
    return (DwStation){DW_STATION_DONE, ""};
}

static DwStation open(const char *missing)
{
    return (DwStation){DW_STATION_OPEN, missing};
}

static DwStation stale(const char *why)
{
    return (DwStation){DW_STATION_STALE, why};
}

static DwStation judge_intake(const DwWorkFacts *facts)
{
    if (!facts->intake)
        return open("The deck was not taken in yet.");
    if (!facts->words)
        return open("The owner's words are missing.");
    if (!facts->list)
        return open("No accessory is listed, nor that none other was received.");
    return facts->list_correct ? done() : open("The owner has not said that the list is correct.");
}

static DwStation judge_safety(const DwWorkFacts *facts)
{
    if (facts->unsafe_open)
        return stale("An item is unsafe, and nobody was told in writing.");
    return facts->use_tested ? done() : open("Nothing was judged safe to use yet.");
}

static DwStation judge_findings(const DwWorkFacts *facts)
{
    if (!facts->findings)
        return open("Nothing was found yet.");
    if (facts->findings_untried)
        return open("A complaint was not tried yet.");
    return facts->verdicts ? done() : open("No verdict was given yet.");
}

static DwStation judge_estimate(const DwWorkFacts *facts)
{
    if (facts->over_agreed)
        return stale("The invoice is above the amount that was agreed to.");
    if (facts->ran_out)
        return stale("The estimate ran out before it was answered.");
    bool newer = facts->estimate == DW_LINE_ISSUED || facts->estimate == DW_LINE_DRAFT;
    if (facts->answer == DW_LINE_AGREED && newer)
        return stale("A newer version of the estimate is not answered.");
    if (facts->answer == DW_LINE_AGREED || facts->answer == DW_LINE_REFUSED)
        return done();
    if (facts->answer == DW_LINE_WAITS)
        return open("The owner wants to think about it.");
    if (facts->estimate == DW_LINE_ISSUED)
        return open("The owner has not answered.");
    if (facts->estimate == DW_LINE_DRAFT)
        return open("The estimate was not given out yet.");
    return facts->ceiling ? done() : open("No amount was agreed to.");
}

static DwStation judge_work(const DwWorkFacts *facts)
{
    if (!facts->operations)
        return open("No operation is noted.");
    return facts->operations_open ? open("An operation is not done yet.") : done();
}

static DwStation judge_set_up(const DwWorkFacts *facts)
{
    if (facts->set_up_stale)
        return stale(facts->set_up_stale);
    return facts->set_up_left ? done() : open("No setting is noted as left.");
}

static DwStation judge_as_left(const DwWorkFacts *facts)
{
    if (!facts->as_left)
        return open("Nothing was measured as left.");
    if (facts->work_after_left)
        return stale("Work was done after the last measurement.");
    return facts->unmatched ? open("Something measured as received was not measured again.") : done();
}

static DwStation judge_papers(const DwWorkFacts *facts)
{
    if (facts->invoice == DW_LINE_INVOICE_ISSUED)
        return done();
    return open(facts->invoice ? "The invoice was not issued yet." : "There is no invoice yet.");
}

void dw_work_line_judge(const DwWorkFacts *facts, DwStation stations[DW_STATION_COUNT])
{
    stations[DW_STATION_INTAKE] = judge_intake(facts);
    stations[DW_STATION_SAFETY] = judge_safety(facts);
    stations[DW_STATION_AS_RECEIVED] = facts->as_received ? done() : open("Nothing was measured as received.");
    stations[DW_STATION_FINDINGS] = judge_findings(facts);
    stations[DW_STATION_ESTIMATE] = judge_estimate(facts);
    stations[DW_STATION_WORK] = judge_work(facts);
    stations[DW_STATION_SET_UP] = judge_set_up(facts);
    stations[DW_STATION_AS_LEFT] = judge_as_left(facts);
    stations[DW_STATION_PAPERS] = judge_papers(facts);
}

DwStationKind dw_work_line_now(const DwStation stations[DW_STATION_COUNT])
{
    DwStationKind kind = DW_STATION_INTAKE;
    while (kind < DW_STATION_COUNT && stations[kind].state == DW_STATION_DONE)
        kind++;
    return kind;
}

// A value of FACTS and the SQL for it; ?1 is the job, ?2 today.
typedef struct {
    size_t offset;
    bool yes; // a bool, not an int64_t
    const char *sql;
} Question;

#define COUNT(field) offsetof(DwWorkFacts, field), false
#define YES(field) offsetof(DwWorkFacts, field), true
#define STANDING "job_id = ?1 AND withdrawn_at IS NULL"
#define LAST_LEFT "(SELECT max(at) FROM measurement WHERE " STANDING " AND phase = 'as left')"
#define STANDING_VERDICT "v.job_id = ?1 AND v.id = (SELECT max(id) FROM verdict WHERE job_id = ?1 AND item = v.item)"
#define SIGNED "SELECT count(*) FROM attachment WHERE job_id = ?1 AND kind = 'signature' AND phase = "
#define NEWEST_ESTIMATE "FROM estimate WHERE job_id = ?1 ORDER BY version DESC LIMIT 1"

static const Question questions[] = {
    {YES(intake), "SELECT count(*) FROM intake WHERE job_id = ?1"},
    {YES(words), "SELECT words <> '' FROM intake WHERE job_id = ?1"},
    {YES(list), "SELECT none_other_received OR EXISTS (SELECT 1 FROM accessory WHERE intake_id = intake.id) "
                "FROM intake WHERE job_id = ?1"},
    {YES(list_correct), "SELECT list_correct FROM intake WHERE job_id = ?1"},
    {COUNT(use_tested), "SELECT count(*) FROM verdict AS v WHERE " STANDING_VERDICT
                        " AND aspect = 'use' AND grade NOT IN ('none', 'not tested')"},
    {COUNT(unsafe_open), "SELECT count(*) FROM verdict AS v WHERE " STANDING_VERDICT " AND grade = 'unsafe' AND NOT "
                         "EXISTS (SELECT 1 FROM acknowledgement WHERE verdict_id = v.id)"},
    {COUNT(as_received), "SELECT count(*) FROM measurement WHERE " STANDING " AND phase = 'as received'"},
    {COUNT(as_left), "SELECT count(*) FROM measurement WHERE " STANDING " AND phase = 'as left'"},
    {COUNT(unmatched), "SELECT count(DISTINCT key) FROM reading WHERE measurement_id IN (SELECT id FROM measurement "
                       "WHERE " STANDING " AND phase = 'as received') AND key NOT IN (SELECT key FROM reading WHERE "
                       "measurement_id IN (SELECT id FROM measurement WHERE " STANDING " AND phase = 'as left'))"},
    {COUNT(findings), "SELECT count(*) FROM finding WHERE job_id = ?1"},
    {COUNT(findings_untried), "SELECT count(*) FROM finding WHERE job_id = ?1 AND confirmed = 'not tried'"},
    {COUNT(verdicts), "SELECT count(*) FROM verdict WHERE job_id = ?1"},
    {COUNT(estimate),
     "SELECT CASE state WHEN 'draft' THEN 1 WHEN 'issued' THEN 2 WHEN 'accepted' THEN 3 ELSE 4 END " NEWEST_ESTIMATE},
    {YES(ran_out), "SELECT state = 'issued' AND valid_until < ?2 " NEWEST_ESTIMATE},
    {COUNT(answer), "SELECT CASE answer WHEN 'refused' THEN 2 WHEN 'wants to wait' THEN 3 ELSE 1 END FROM consent "
                    "WHERE job_id = ?1 ORDER BY id DESC LIMIT 1"},
    {YES(ceiling), "SELECT ceiling IS NOT NULL FROM intake WHERE job_id = ?1"},
    {COUNT(operations), "SELECT count(*) FROM operation WHERE job_id = ?1"},
    {COUNT(operations_open),
     "SELECT count(*) FROM operation WHERE job_id = ?1 AND actual_minutes = 0 AND done_at IS NULL"},
    {COUNT(set_up_left), "SELECT count(*) FROM set_up WHERE job_id = ?1 AND phase = 'as left'"},
    {COUNT(work_after_left),
     "SELECT (SELECT count(*) FROM operation WHERE job_id = ?1 AND done_at > " LAST_LEFT ") + "
     "(SELECT count(*) FROM set_up WHERE job_id = ?1 AND phase = 'during' AND at > " LAST_LEFT ")"},
    {COUNT(invoice), "SELECT CASE state WHEN 'issued' THEN 2 ELSE 1 END FROM invoice WHERE (job_id = ?1 OR "
                     "id IN (SELECT invoice_id FROM invoice_line WHERE job_id = ?1)) AND kind = 'invoice' ORDER BY id "
                     "DESC LIMIT 1"},
    {COUNT(unpaid), "SELECT count(*) FROM invoice WHERE job_id = ?1 AND kind = 'invoice' AND state = 'issued' AND "
                    "paid_on IS NULL AND NOT EXISTS (SELECT 1 FROM invoice AS c WHERE c.corrects_id = invoice.id)"},
    {YES(signed_in), SIGNED "'as received'"},
    {YES(signed_out), SIGNED "'as left'"},
};

static DwStatus ask(DwBook *book, const Question *question, int64_t job, DwWorkFacts *facts, DwMessage *message)
{
    char today[DW_DATE_SIZE];
    dw_book_today(book, today);
    DwQuery query = dw_query_begin(book, question->sql);
    dw_query_bind_integer(&query, job);
    if (sqlite3_bind_parameter_count(query.statement) == 2)
        dw_query_bind_text(&query, today);
    int64_t found = dw_query_step(&query) ? dw_query_integer(&query, 0) : 0;
    void *place = (char *)facts + question->offset;
    if (question->yes)
        *(bool *)place = found != 0;
    else
        *(int64_t *)place = found;
    return dw_query_end(&query, message);
}

// What was agreed to covers what the job's invoices ask for, with the newest while that is a draft, or it must be asked
// for again.
static DwStatus ask_over_agreed(DwBook *book, int64_t job, DwWorkFacts *facts, DwMessage *message)
{
    int64_t draft = 0, agreed = DW_AMOUNT_NONE, asked = 0;
    DwTotals totals = {0};
    DwStatus status =
        dw_query_number(book,
                        "SELECT id FROM invoice WHERE job_id = ?1 AND state = 'draft' AND kind = 'invoice' "
                        "AND id = (SELECT max(id) FROM invoice WHERE job_id = ?1)",
                        job, &draft, message);
    if (status == DW_OK)
        status = dw_consent_agreed(book, job, &agreed, message);
    if (status == DW_OK)
        status = dw_credit_asked(book, job, &asked, message);
    if (status == DW_OK && draft)
        status = dw_invoice_totals(book, draft, &totals, message);
    facts->over_agreed = agreed != DW_AMOUNT_NONE && asked + totals.gross > agreed;
    return status;
}

DwStatus dw_work_line_read(DwBook *book, int64_t job, DwWorkFacts *facts, DwMessage *message)
{
    DwStatus status = DW_OK;
    *facts = (DwWorkFacts){0};
    for (size_t i = 0; status == DW_OK && i < sizeof questions / sizeof *questions; i++)
        status = ask(book, &questions[i], job, facts, message);
    return status == DW_OK ? ask_over_agreed(book, job, facts, message) : status;
}

size_t dw_work_line_next(DwJobState state, DwJobState next[], size_t most)
{
    enum { END = -1 };
    static const int moves[][5] = {
        [DW_JOB_BOOKED] = {DW_JOB_RECEIVED, DW_JOB_DECLINED, END},
        [DW_JOB_RECEIVED] = {DW_JOB_MEASURING, DW_JOB_WAITING_SOAK, DW_JOB_ESTIMATING, END},
        [DW_JOB_MEASURING] = {DW_JOB_ESTIMATING, DW_JOB_ON_BENCH, END},
        [DW_JOB_ESTIMATING] = {DW_JOB_WAITING_APPROVAL, DW_JOB_ON_BENCH, END},
        [DW_JOB_WAITING_APPROVAL] = {DW_JOB_ON_BENCH, DW_JOB_WAITING_PART, DW_JOB_ESTIMATING, DW_JOB_DECLINED, END},
        [DW_JOB_WAITING_PART] = {DW_JOB_ON_BENCH, END},
        [DW_JOB_WAITING_SOAK] = {DW_JOB_MEASURING, DW_JOB_ON_BENCH, DW_JOB_VERIFYING, END},
        [DW_JOB_ON_BENCH] = {DW_JOB_VERIFYING, DW_JOB_WAITING_PART, DW_JOB_WAITING_APPROVAL, DW_JOB_WAITING_SOAK, END},
        [DW_JOB_VERIFYING] = {DW_JOB_READY, DW_JOB_ON_BENCH, END},
        [DW_JOB_READY] = {DW_JOB_HANDED_OVER, DW_JOB_ON_BENCH, END},
        [DW_JOB_HANDED_OVER] = {END},
        [DW_JOB_DECLINED] = {DW_JOB_READY, DW_JOB_HANDED_OVER, END},
        [DW_JOB_DISPOSED] = {END},
    };
    size_t count = 0;
    while (count < most && moves[state][count] != END) {
        next[count] = (DwJobState)moves[state][count];
        count++;
    }
    return count;
}
