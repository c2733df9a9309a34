// SPDX-License-Identifier: MIT
#include "book/money/consent.h"

#include "book/job/job.h"
#include "book/job/work.h"
#include "book/shop/settings.h"
#include "book/job/intake.h"
#include "book/store/private.h"

#include <string.h>

static const DwField fields[] = {
    {"job_id", "Job", DW_FIELD_REFERENCE, offsetof(DwConsent, job_id), .refers = "job", .required = true},
    {"estimate_id", "Estimate", DW_FIELD_REFERENCE, offsetof(DwConsent, estimate_id), .refers = "estimate"},
    {"tier", "Option", DW_FIELD_CHOICE, offsetof(DwConsent, tier), .choices = DW_TIER_WORDS "|all",
     .preset = DW_TIER_ALL, .help = "An answer may refuse all at once; it agrees to one."},
    {"answer", "Answer", DW_FIELD_CHOICE, offsetof(DwConsent, answer),
     .choices = "agreed|agreed up to|refused|wants to wait"},
    {"amount", "Amount", DW_FIELD_AMOUNT, offsetof(DwConsent, amount), .not_negative = true, .help = "Tax included."},
    {"person", "Person", DW_FIELD_TEXT, offsetof(DwConsent, person), .required = true, .personal = true},
    {"how", "How", DW_FIELD_CHOICE, offsetof(DwConsent, how), .choices = DW_ROUTE_WORDS},
    {"contact", "Number or address", DW_FIELD_TEXT, offsetof(DwConsent, contact), .personal = true},
    {"words", "Words", DW_FIELD_TEXT, offsetof(DwConsent, words), .lines = true, .personal = true},
    {"at", "At", DW_FIELD_MOMENT, offsetof(DwConsent, at), .required = true, .kept = true},
    {"who", "Taken down by", DW_FIELD_TEXT, offsetof(DwConsent, who), .kept = true},
};

const DwEntity dw_consent_entity = {"consent",
                                    "consent",
                                    sizeof(DwConsent),
                                    fields,
                                    sizeof fields / sizeof *fields,
                                    .of_customer = DW_JOBS_OF_CUSTOMER,
                                    .quiet = true};

static bool agrees(const DwConsent *consent)
{
    return consent->answer == DW_CONSENT_AGREED || consent->answer == DW_CONSENT_UP_TO;
}

static DwStatus check_estimate(DwBook *book, const DwConsent *consent, const DwEstimate *estimate, DwMessage *message)
{
    char today[DW_DATE_SIZE];
    dw_book_today(book, today);
    if (estimate->job_id != consent->job_id)
        return dw_fail(message, DW_BAD_INPUT, "That estimate belongs to another job.");
    if (estimate->state != DW_ESTIMATE_ISSUED && estimate->state != DW_ESTIMATE_ACCEPTED)
        return dw_fail(message, DW_BAD_INPUT,
                       "Version %lld of the estimate is not open to an answer. Take the version "
                       "that was given out last.",
                       (long long)estimate->version);
    if (agrees(consent) && estimate->valid_until && strcmp(estimate->valid_until, today) < 0)
        return dw_fail(message, DW_BAD_INPUT, "Version %lld of the estimate ran out on %s. Issue another version.",
                       (long long)estimate->version, estimate->valid_until);
    return DW_OK;
}

// Whether the refusal LATER takes back what AGREED agreed to.
static bool takes_back(const DwConsent *later, const DwConsent *agreed)
{
    return later->answer == DW_CONSENT_REFUSED && (!later->estimate_id || later->estimate_id == agreed->estimate_id) &&
           (!later->estimate_id || later->tier == DW_TIER_ALL || later->tier == agreed->tier);
}

// What stands agreed to.
typedef struct {
    int64_t amount; // DW_AMOUNT_NONE for nothing
    int64_t estimate;
    int tier;
} Agreed;

// The latest answer that agreed on JOB and that no later one, NEXT (or NULL) among them, took back.
static DwStatus agreed_answer(DwBook *book, int64_t job, const DwConsent *next, Agreed *agreed, DwMessage *message)
{
    DwRecords answers;
    DwStatus status = dw_record_list(book, &dw_consent_entity, "job_id", job, &answers, message);
    if (status != DW_OK)
        return status;
    *agreed = (Agreed){.amount = DW_AMOUNT_NONE};
    for (size_t i = 0; i < answers.count; i++) {
        const DwConsent *answer = (const DwConsent *)dw_records_at(&answers, i);
        bool stands = agrees(answer) && answer->amount != DW_AMOUNT_NONE && !(next && takes_back(next, answer));
        for (size_t later = i + 1; stands && later < answers.count; later++)
            stands = !takes_back((const DwConsent *)dw_records_at(&answers, later), answer);
        if (stands)
            *agreed = (Agreed){answer->amount, answer->estimate_id, answer->tier};
    }
    dw_records_clear(&answers);
    return DW_OK;
}

static DwStatus agreed_to(DwBook *book, int64_t job, const DwConsent *next, int64_t *amount, DwMessage *message)
{
    Agreed agreed = {.amount = DW_AMOUNT_NONE};
    DwStatus status = agreed_answer(book, job, next, &agreed, message);
    *amount = agreed.amount;
    return status;
}

DwStatus dw_consent_option(DwBook *book, int64_t job, int64_t *estimate, DwTier *tier, DwMessage *message)
{
    Agreed agreed = {.amount = DW_AMOUNT_NONE};
    DwStatus status = agreed_answer(book, job, NULL, &agreed, message);
    *estimate = agreed.amount == DW_AMOUNT_NONE ? 0 : agreed.estimate;
    *tier = (DwTier)agreed.tier;
    return status;
}

// Whether the line LINE is in the option TIER of ESTIMATE.
static bool is_agreed_line(DwBook *book, int64_t line, int64_t estimate, DwTier tier)
{
    DwBillLine read;
    dw_record_init(&read.record, &dw_estimate_line_entity);
    bool is = line && dw_record_load(book, &read.record, line, NULL) == DW_OK && read.bill_id == estimate &&
              read.tier <= (int)tier;
    dw_record_clear(&read.record);
    return is;
}

DwStatus dw_consent_open_work(DwBook *book, int64_t job, DwRecords *operations, size_t *planned, DwMessage *message)
{
    int64_t estimate = 0;
    DwTier tier = DW_TIER_MINIMUM;
    *planned = 0;
    DwStatus status = dw_consent_option(book, job, &estimate, &tier, message);
    if (status == DW_OK)
        status = dw_operation_plan(book, job, operations, message);
    if (status != DW_OK)
        return status;
    size_t kept = 0;
    for (size_t i = 0; i < operations->count; i++) {
        DwOperation *operation = (DwOperation *)dw_records_at(operations, i);
        bool agreed = estimate && is_agreed_line(book, operation->estimate_line_id, estimate, tier);
        *planned += agreed;
        if (!agreed || dw_operation_is_done(operation))
            dw_record_clear(&operation->record);
        else if (kept++ != i) {
            DwOperation *place = (DwOperation *)dw_records_at(operations, kept - 1);
            *place = *operation;
            dw_record_init(&operation->record, &dw_operation_entity);
        }
    }
    operations->count = kept;
    return DW_OK;
}

// Which options of ESTIMATE have lines of their own, and which of those were refused. What has none is the same as the
// one before it.
static DwStatus read_options(DwBook *book, int64_t estimate, bool own[3], bool refused[3], DwMessage *message)
{
    DwRecords lines, answers;
    DwStatus status = dw_record_list(book, &dw_estimate_line_entity, "estimate_id", estimate, &lines, message);
    if (status != DW_OK)
        return status;
    for (size_t i = 0; i < lines.count; i++)
        own[((const DwBillLine *)dw_records_at(&lines, i))->tier] = true;
    dw_records_clear(&lines);
    status = dw_record_list(book, &dw_consent_entity, "estimate_id", estimate, &answers, message);
    if (status != DW_OK)
        return status;
    for (size_t i = 0; i < answers.count; i++) {
        const DwConsent *answer = (const DwConsent *)dw_records_at(&answers, i);
        for (int tier = DW_TIER_MINIMUM; answer->answer == DW_CONSENT_REFUSED && tier <= DW_TIER_FULL; tier++)
            if (answer->tier == DW_TIER_ALL || answer->tier == tier)
                refused[tier] = true;
    }
    dw_records_clear(&answers);
    return DW_OK;
}

// The option that TIER is in truth: itself, or the greatest before it with lines of its own; -1 for none.
static int true_option(const bool own[3], int tier)
{
    while (tier >= 0 && !own[tier])
        tier--;
    return tier;
}

// One refusal closes one option; the last one the estimate.
static DwStatus close_options(DwBook *book, const DwConsent *consent, DwEstimate *estimate, DwMessage *message)
{
    bool own[3] = {false}, refused[3] = {false}, closed[3] = {false}, open = false;
    DwStatus status = read_options(book, estimate->record.id, own, refused, message);
    if (status != DW_OK)
        return status;
    for (int tier = DW_TIER_MINIMUM; tier <= DW_TIER_FULL; tier++)
        if ((refused[tier] || consent->tier == tier || consent->tier == DW_TIER_ALL) && true_option(own, tier) >= 0)
            closed[true_option(own, tier)] = true;
    for (int tier = DW_TIER_MINIMUM; tier <= DW_TIER_FULL; tier++)
        open = open || (own[tier] && !closed[tier]);
    int64_t agreed = DW_AMOUNT_NONE;
    if (!open)
        estimate->state = DW_ESTIMATE_DECLINED;
    else if (estimate->state == DW_ESTIMATE_ACCEPTED)
        status = agreed_to(book, consent->job_id, consent, &agreed, message);
    if (status == DW_OK && open && agreed == DW_AMOUNT_NONE)
        estimate->state = DW_ESTIMATE_ISSUED;
    return status;
}

// Where the estimate has one option, an agreement need not name it.
static void name_only_option(const bool own[3], DwConsent *consent)
{
    int only = true_option(own, DW_TIER_FULL);
    if (consent->tier == DW_TIER_ALL && only >= 0 && true_option(own, only - 1) < 0)
        consent->tier = only;
}

static DwStatus check_open(DwBook *book, DwConsent *consent, DwMessage *message)
{
    bool own[3] = {false}, refused[3] = {false};
    DwStatus status = read_options(book, consent->estimate_id, own, refused, message);
    name_only_option(own, consent);
    if (status == DW_OK && consent->tier == DW_TIER_ALL)
        return dw_fail(message, DW_BAD_INPUT, "Say which option was agreed to: " DW_TIER_WORDS ".");
    for (int tier = DW_TIER_MINIMUM; status == DW_OK && tier <= DW_TIER_FULL; tier++)
        if (refused[tier] && true_option(own, tier) == true_option(own, consent->tier))
            return dw_fail(message, DW_BAD_INPUT,
                           "That option was refused before. Issue another version to ask again.");
    return status;
}

// Fills the amount of an agreement that names none.
static DwStatus fill_amount(DwBook *book, DwConsent *consent, DwMessage *message)
{
    DwTotals totals = {0};
    bool uneconomic;
    if (consent->answer != DW_CONSENT_AGREED || consent->amount != DW_AMOUNT_NONE)
        return DW_OK;
    DwStatus status =
        dw_estimate_totals(book, consent->estimate_id, (DwTier)consent->tier, &totals, &uneconomic, message);
    if (status == DW_OK)
        consent->amount = totals.gross;
    return status;
}

// Marks the estimate as the answer says and fills the amount.
static DwStatus answer_estimate(DwBook *book, DwConsent *consent, DwMessage *message)
{
    DwEstimate estimate;
    dw_record_init(&estimate.record, &dw_estimate_entity);
    DwStatus status = dw_record_load(book, &estimate.record, consent->estimate_id, message);
    if (status == DW_OK)
        status = check_estimate(book, consent, &estimate, message);
    if (status == DW_OK && agrees(consent)) {
        estimate.state = DW_ESTIMATE_ACCEPTED;
        status = check_open(book, consent, message);
    } else if (status == DW_OK && consent->answer == DW_CONSENT_REFUSED)
        status = close_options(book, consent, &estimate, message);
    if (status == DW_OK)
        status = fill_amount(book, consent, message);
    if (status == DW_OK)
        status = dw_record_keep(book, &estimate.record, message);
    dw_record_clear(&estimate.record);
    return status;
}

DwStatus dw_consent_log(DwBook *book, DwConsent *consent, DwMessage *message)
{
    DwStatus status = dw_book_begin(book, message);
    if (status != DW_OK)
        return status;
    dw_field_stamp(book, &consent->at, &consent->who);
    if (consent->estimate_id)
        status = answer_estimate(book, consent, message);
    if (status == DW_OK && agrees(consent) && consent->amount == DW_AMOUNT_NONE)
        status = dw_fail(message, DW_BAD_INPUT, "Write down the amount that was agreed to.");
    if (status == DW_OK)
        status = dw_record_keep(book, &consent->record, message);
    status = dw_book_end(book, status, message);
    if (status != DW_OK)
        consent->record.id = 0;
    return status;
}

// What was told to be charged for an estimate, tax included; 0 where nothing was told.
static DwStatus charge_told(DwBook *book, int64_t job, int64_t *charge, DwMessage *message)
{
    int64_t told = 0, net = dw_intake_amount(book, job, "money.estimate_charge");
    DwStatus status =
        dw_query_number(book, "SELECT estimate_charge_told FROM intake WHERE job_id = ?", job, &told, message);
    *charge = 0;
    if (told && net != DW_AMOUNT_NONE && net > 0)
        *charge = net + dw_money_share(net, dw_settings_rate(book, "money.tax_rate"));
    return status;
}

// What may be billed where no agreement stands: after a refusal the charge for the estimate, else the ceiling of the
// intake.
static DwStatus agreed_at_intake(DwBook *book, int64_t job, int64_t *amount, DwMessage *message)
{
    int64_t refusals = 0;
    DwStatus status = dw_query_number(book, "SELECT count(*) FROM consent WHERE job_id = ? AND answer = 'refused'", job,
                                      &refusals, message);
    if (status != DW_OK || refusals)
        return status == DW_OK ? charge_told(book, job, amount, message) : status;
    DwQuery query = dw_query_begin(book, "SELECT ceiling FROM intake WHERE job_id = ?");
    dw_query_bind_integer(&query, job);
    if (dw_query_step(&query) && !dw_query_is_nothing(&query, 0))
        *amount = dw_query_integer(&query, 0);
    return dw_query_end(&query, message);
}

DwStatus dw_consent_agreed(DwBook *book, int64_t job, int64_t *amount, DwMessage *message)
{
    int64_t agreed = DW_AMOUNT_NONE;
    DwStatus status = agreed_to(book, job, NULL, &agreed, message);
    if (status == DW_OK && agreed == DW_AMOUNT_NONE)
        status = agreed_at_intake(book, job, &agreed, message);
    if (status == DW_OK)
        *amount = agreed;
    return status;
}
