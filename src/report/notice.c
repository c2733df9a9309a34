// SPDX-License-Identifier: MIT
// Notices to the owner: the deck is ready, a reminder, storage, the last one.
#include "base/memory.h"
#include "base/text.h"
#include "book/job/disposal.h"
#include "book/job/visit.h"
#include "book/money/payment.h"
#include "report/papers.h"
#include "report/sentence/sentence.h"

#include <stdlib.h>
#include <string.h>

// The texts of each kind, in the order of the book's choices.
static const struct {
    const char *name;
    const char *texts[4]; // what is said, in this order, of what stands; NULL past the last
} kinds[] = {
    [DW_NOTICE_READY] = {"ready", {"ready.text", "free", "free.over"}},
    [DW_NOTICE_REMINDER] = {"reminder", {"reminder.text", "free", "free.over", "reminder.ask"}},
    [DW_NOTICE_STORAGE] = {"storage", {"storage.text"}},
    [DW_NOTICE_LAST] = {"last", {"last.text"}},
    [DW_NOTICE_KINDS] = {"declined", {"declined.text", "free", "free.over"}}, // the repair was; the notice is "ready"
};

// What a notice says of its deck's time in the shop.
typedef struct {
    DwNoticeKind kind;
    char day[DW_DATE_SIZE];   // of this letter
    char since[DW_DATE_SIZE]; // ready since
    char told[DW_DATE_SIZE];  // the first notice that it is ready
    char until[DW_DATE_SIZE]; // the last day without charge
    int64_t storage;          // on the day of this letter
    char *words;              // the shop's own on this notice, or NULL
} Notice;

// The notice's days as they are printed.
typedef struct {
    char *day, *since, *told, *until;
} Days;

static Days print_days(const Notice *notice)
{
    return (Days){dw_dossier_day(notice->day), dw_dossier_day(notice->since), dw_dossier_day(notice->told),
                  dw_dossier_day(notice->until)};
}

static void free_days(Days *days)
{
    free(days->day);
    free(days->since);
    free(days->told);
    free(days->until);
}

static const char *say(const DwDossier *d, const char *key)
{
    return dw_dossier_say(d, "notice", key);
}

static void keep_day(char day[DW_DATE_SIZE], const char *date)
{
    if (date && dw_moment_is_date(date))
        memcpy(day, date, DW_DATE_SIZE);
    else
        dw_moment_day(date ? date : "", day);
}

// A deck waits for its owner when it is ready, and when its repair was declined.
// The kind that was asked for, else that of the newest notice, else that the deck is ready.
static DwStatus choose_kind(const DwDossier *d, const DwNotice *newest, Notice *notice, DwMessage *message)
{
    const DwField *field = dw_field_find(&dw_notice_entity, "kind");
    int kind = d->notice ? dw_field_choice(field, d->notice) : newest ? newest->kind : DW_NOTICE_READY;
    if (kind < 0)
        return dw_fail(message, DW_BAD_INPUT, "\"%s\" is no notice. There are: %s.", d->notice, field->choices);
    notice->kind = (DwNoticeKind)kind;
    return DW_OK;
}

// A printed notice that is noted in the book bears its day and words; another is of today.
static DwStatus read_notices(const DwDossier *d, Notice *notice, DwMessage *message)
{
    DwRecords records;
    DwStatus status = dw_dossier_records(d, &dw_notice_entity, &records, message);
    if (status != DW_OK)
        return status;
    const DwNotice *newest = records.count ? (const DwNotice *)dw_records_at(&records, records.count - 1) : NULL;
    status = choose_kind(d, newest, notice, message);
    for (size_t i = 0; i < records.count && status == DW_OK; i++) {
        const DwNotice *noted = (const DwNotice *)dw_records_at(&records, i);
        if (noted->kind == DW_NOTICE_READY && (!*notice->told || strcmp(noted->sent_on, notice->told) < 0))
            keep_day(notice->told, noted->sent_on);
        if (noted->kind != (int)notice->kind)
            continue;
        keep_day(notice->day, noted->sent_on);
        free(notice->words);
        notice->words = dw_memory_text(noted->words);
    }
    dw_records_clear(&records);
    if (status == DW_OK && !*notice->day && !dw_job_waits_for_owner((DwJobState)d->job.state))
        status = dw_fail(message, DW_BAD_INPUT,
                         "Job %s is %s: its deck does not wait for its owner, and no such notice is noted.", d->number,
                         dw_job_state_word((DwJobState)d->job.state));
    return status;
}

// Since when the deck waits: the last stage at which it began to.
static DwStatus read_since(const DwDossier *d, Notice *notice, DwMessage *message)
{
    DwRecords stages;
    DwStatus status = dw_dossier_records(d, &dw_stage_entity, &stages, message);
    if (status != DW_OK)
        return status;
    for (size_t i = 0; i < stages.count; i++) {
        const DwStage *stage = (const DwStage *)dw_records_at(&stages, i);
        if (dw_job_waits_for_owner((DwJobState)stage->state))
            keep_day(notice->since, stage->at);
    }
    dw_records_clear(&stages);
    return DW_OK;
}

// Storage is charged from the first notice that the deck is ready, never from before.
static DwStatus work_out(const DwDossier *d, Notice *notice, DwMessage *message)
{
    char *days = dw_intake_setting(d->book, d->job.record.id, "storage.free_days");
    long free_days = strtol(days, NULL, 10);
    free(days);
    int64_t daily = dw_intake_amount(d->book, d->job.record.id, "storage.daily_charge");
    if (!*notice->day)
        dw_book_today(d->book, notice->day);
    if (!*notice->told && notice->kind != DW_NOTICE_READY)
        return dw_fail(message, DW_BAD_INPUT,
                       "Nothing says when the owner of job %s was told that the deck is ready. "
                       "'deckwright job add %s notice kind=ready sent_on=DAY' notes it.",
                       d->number, d->number);
    if (!*notice->told)
        keep_day(notice->told, notice->day);
    if (!*notice->since)
        keep_day(notice->since, notice->told);
    dw_moment_add_days(notice->told, free_days, notice->until);
    long charged = dw_moment_days_between(notice->until, notice->day);
    notice->storage = charged > 0 && daily > 0 ? charged * daily : 0;
    if (notice->kind == DW_NOTICE_STORAGE && !notice->storage)
        return dw_fail(message, DW_BAD_INPUT,
                       "No storage is to be paid on job %s by %s: it stands free until %s, then storage.daily_charge a "
                       "day. Send a reminder.",
                       d->number, notice->day, notice->until);
    return DW_OK;
}

static size_t kind_of(const DwDossier *d, const Notice *notice)
{
    bool declined = notice->kind == DW_NOTICE_READY && d->job.state == DW_JOB_DECLINED;
    return declined ? DW_NOTICE_KINDS : (size_t)notice->kind;
}

static void add_storage(DwDossier *d, const Notice *notice, const DwStay *stay, const char *storage)
{
    if (notice->kind == DW_NOTICE_LAST) {
        char *text = dw_sentence(d, "notice", "last.storage", stay, "storage", storage, NULL);
        dw_piece_paragraph(d->flow, text);
        free(text);
    }
    if (notice->storage && notice->kind != DW_NOTICE_READY) {
        char *text = dw_sentence(d, "notice", "storage.told", NULL, NULL);
        dw_piece_paragraph(d->flow, text);
        free(text);
    }
}

// The sentences of the notice's kind that stand, as one paragraph.
static void add_body(DwDossier *d, const Notice *notice, const DwStay *stay, const char *charge, const char *storage)
{
    size_t kind = kind_of(d, notice);
    char *named = dw_dossier_deck(d);
    const char *deck = *named ? named : say(d, "deck");
    DwText body = {0};
    Days days = print_days(notice);
    for (size_t i = 0; i < 4 && kinds[kind].texts[i]; i++) {
        const char *key = kinds[kind].texts[i];
        bool of_stay = strncmp(key, "free", 4) == 0;
        const void *about = of_stay ? (const void *)stay : kinds[kind].name;
        char *text = dw_sentence(d, "notice", key, about, "deck", deck, "since", days.since, "told", days.told, "until",
                                 days.until, "charge", charge, "storage", storage, NULL);
        if (*text)
            dw_text_add(&body, "%s%s", body.length ? " " : "", text);
        free(text);
    }
    dw_piece_paragraph(d->flow, body.length ? body.chars : "");
    dw_text_clear(&body);
    free_days(&days);
    free(named);
}

// What to bring and to ask for: a receipt only where there is one.
static void add_requests(DwDossier *d, const Notice *notice)
{
    char *bring =
        notice->kind == DW_NOTICE_READY ? dw_sentence(d, "notice", "ready.bring", NULL, NULL) : dw_memory_text("");
    char *ask = dw_sentence(d, "notice", "ready.ask", kinds[kind_of(d, notice)].name, NULL);
    char *text = dw_text_format("%s%s%s", bring, *bring && *ask ? " " : "", ask);
    dw_piece_paragraph(d->flow, text);
    free(text);
    free(ask);
    free(bring);
}

// The other decks that came in together: one notice is for all that are ready.
static void add_visit(DwDossier *d)
{
    static const struct {
        const char *key, *word;
    } rows[] = {{"visit.ready", "ready"}, {"visit.open", "not ready"}};
    for (size_t i = 0; i < sizeof rows / sizeof *rows; i++) {
        char *decks = dw_dossier_visitors(d, rows[i].word);
        char *text = dw_sentence(d, "notice", rows[i].key, NULL, "decks", decks, NULL);
        dw_piece_paragraph(d->flow, text);
        free(text);
        free(decks);
    }
}

static void add_letter(DwDossier *d, const Notice *notice)
{
    int64_t daily = dw_intake_amount(d->book, d->job.record.id, "storage.daily_charge");
    const DwStay stay = {notice->day, notice->until, daily, notice->storage};
    char *storage = dw_dossier_money(d, notice->storage), *charge = dw_dossier_money(d, daily);
    char *today = dw_dossier_day(notice->day);
    char *day = dw_paper_words_fill(d->words, "notice", "day", "day", today, NULL);
    char *greeting = dw_paper_words_fill(d->words, "notice", "greeting", "person", d->customer.name, NULL);
    size_t first = d->flow->count;
    dw_piece_paragraph(d->flow, day);
    if (d->flow->count > first)
        d->flow->pieces[first].space = 2;
    dw_piece_paragraph(d->flow, greeting);
    add_body(d, notice, &stay, charge, storage);
    add_storage(d, notice, &stay, storage);
    if (notice->kind == DW_NOTICE_READY || notice->kind == DW_NOTICE_REMINDER)
        add_visit(d);
    add_requests(d, notice);
    dw_piece_paragraph(d->flow, notice->words ? notice->words : "");
    free(storage);
    free(charge);
    free(day);
    free(today);
    free(greeting);
}

// What is still to be paid of JOB: each issued invoice without a day of payment.
static DwStatus add_to_pay_of(DwDossier *d, int64_t job, DwMessage *message)
{
    DwRecords invoices;
    DwStatus status = dw_record_list(d->book, &dw_invoice_entity, "job_id", job, &invoices, message);
    if (status != DW_OK)
        return status;
    for (size_t i = 0; i < invoices.count && status == DW_OK; i++) {
        const DwInvoice *invoice = (const DwInvoice *)dw_records_at(&invoices, i);
        DwBalance balance = {0};
        if (!dw_sentence_stands(d, "notice", "to_pay", invoice))
            continue;
        status = dw_payment_balance(d->book, invoice->record.id, &balance, message);
        if (status != DW_OK || balance.due <= 0)
            continue;
        char *amount = dw_dossier_money(d, balance.due), *issued = dw_dossier_day(invoice->issued_on),
             *number = dw_invoice_number(invoice);
        char *text =
            dw_sentence(d, "notice", "to_pay", invoice, "amount", amount, "number", number, "day", issued, NULL);
        dw_piece_paragraph(d->flow, text);
        free(text);
        free(amount);
        free(issued);
        free(number);
    }
    dw_records_clear(&invoices);
    return status;
}

static DwStatus add_to_pay_of_other(DwBook *book, const DwJob *other, void *user, DwMessage *message)
{
    (void)book;
    return dw_dossier_visitor_is(user, other, "ready") ? add_to_pay_of(user, other->record.id, message) : DW_OK;
}

// Of a visit what is to be paid of each job that is ready.
static DwStatus add_to_pay(DwDossier *d, DwMessage *message)
{
    DwStatus status = add_to_pay_of(d, d->job.record.id, message);
    return status == DW_OK ? dw_visit_each(d->book, d->job.record.id, add_to_pay_of_other, d, message) : status;
}

static void add_end(DwDossier *d)
{
    const char *person = d->customer.may_collect;
    char *text = dw_sentence(d, "receipt", "collect", person, "person", person, NULL);
    dw_piece_paragraph(d->flow, text);
    free(text);
    char *shop = dw_dossier_setting(d, "shop.name");
    dw_piece_paragraph(d->flow, say(d, "closing"));
    dw_piece_paragraph(d->flow, shop);
    free(shop);
}

DwStatus dw_paper_notice(DwDossier *d, DwMessage *message)
{
    Notice notice = {0};
    DwStatus status = read_notices(d, &notice, message);
    if (status == DW_OK)
        status = read_since(d, &notice, message);
    if (status == DW_OK)
        status = work_out(d, &notice, message);
    if (status == DW_OK) {
        dw_dossier_add_head(d, say(d, kinds[kind_of(d, &notice)].name));
        status = dw_dossier_add_unsafe(d, message);
    }
    if (status == DW_OK) {
        add_letter(d, &notice);
        status = add_to_pay(d, message);
    }
    if (status == DW_OK && notice.kind == DW_NOTICE_LAST) {
        char *terms = dw_disposal_terms(d->book, d->job.record.id);
        dw_dossier_add_section(d, "receipt", "left_behind", terms);
        free(terms);
    }
    if (status == DW_OK) {
        add_end(d);
        dw_dossier_add_cautions(d, DW_CAUTIONS_OF_DECK, "");
    }
    free(notice.words);
    return status;
}
