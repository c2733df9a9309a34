// SPDX-License-Identifier: MIT
#include "report/dossier.h"

#include "base/memory.h"
#include "base/text.h"
#include "book/shop/deck_fitted.h"
#include "book/store/attachment.h"
#include "book/shop/settings.h"
#include "book/job/verdict.h"
#include "book/money/invoice.h"
#include "book/job/set_up.h"
#include "chart/draw/number.h"
#include "chart/sheet/sheet_plots.h"
#include "report/day.h"
#include "report/sentence/sentence.h"
#include "report/standing.h"

#include <assert.h>
#include <ctype.h>
#include <stdlib.h>
#include <string.h>
#include <time.h>
#include <unistd.h>

// The newest record of ENTITY whose KEY is ID, into RECORD; it stays empty when there is none.
static DwStatus read_last(DwBook *book, DwRecord *record, const char *key, int64_t id, DwMessage *message)
{
    DwRecords records;
    if (!id)
        return DW_OK;
    DwStatus status = dw_record_list(book, record->entity, key, id, &records, message);
    if (status != DW_OK)
        return status;
    int64_t last = records.count ? dw_records_at(&records, records.count - 1)->id : 0;
    dw_records_clear(&records);
    return last ? dw_record_load(book, record, last, message) : DW_OK;
}

// A logo that was sent to the book is among its attachments; any other is where it was said to be.
static char *logo_path(DwDossier *dossier)
{
    char *set = dw_dossier_setting(dossier, "shop.logo");
    if (strncmp(set, "attachments/", 12) != 0)
        return set;
    char *path = dw_text_format("%s/%s", dw_book_folder(dossier->book), set);
    free(set);
    return path;
}

// A logo that cannot be read leaves the head without one: a paper is needed now.
static void read_logo(DwDossier *dossier)
{
    char *path = logo_path(dossier);
    if (*path && dw_picture_read(path, 600, 0, &dossier->logo, NULL) != DW_OK)
        dossier->logo = NULL;
    free(path);
}

static void prepare(DwDossier *dossier)
{
    dw_record_init(&dossier->job.record, &dw_job_entity);
    dw_record_init(&dossier->customer.record, &dw_customer_entity);
    dw_record_init(&dossier->deck.record, &dw_deck_entity);
    dw_record_init(&dossier->arm.record, &dw_arm_entity);
    dw_record_init(&dossier->cartridge.record, &dw_cartridge_entity);
    dw_record_init(&dossier->stylus.record, &dw_stylus_entity);
    dw_record_init(&dossier->intake.record, &dw_intake_entity);
}

// The deck's own arm, or the cartridge on it.
static DwStatus read_own(DwBook *book, DwRecord *record, int64_t deck, DwMessage *message)
{
    int64_t id = 0;
    DwStatus status = deck ? dw_deck_fitted(book, record->entity, deck, "", "", &id, message) : DW_OK;
    return status == DW_OK && id ? dw_record_load(book, record, id, message) : status;
}

// What was issued keeps its currency, whatever the shop's is today.
static DwStatus read_currency(DwDossier *dossier, DwMessage *message)
{
    DwRecords invoices;
    DwStatus status = dw_dossier_records(dossier, &dw_invoice_entity, &invoices, message);
    if (status != DW_OK)
        return status;
    const char *issued = NULL;
    for (size_t i = 0; i < invoices.count; i++) {
        const DwInvoice *invoice = (const DwInvoice *)dw_records_at(&invoices, i);
        if (invoice->state == DW_INVOICE_ISSUED && invoice->currency && *invoice->currency)
            issued = invoice->currency;
    }
    dossier->currency = issued ? dw_memory_text(issued) : dw_dossier_setting(dossier, "money.currency");
    dw_records_clear(&invoices);
    return DW_OK;
}

DwStatus dw_dossier_read(DwBook *book, const char *number, const DwPaperWords *words, DwFlow *flow, DwDossier *dossier,
                         DwMessage *message)
{
    *dossier = (DwDossier){.book = book, .words = words, .chart_words = dw_paper_words_for_charts(words), .flow = flow};
    prepare(dossier);
    DwStatus status = dw_job_find(book, number, &dossier->job, message);
    const DwJob *job = &dossier->job;
    if (status == DW_OK)
        status = dw_record_load(book, &dossier->customer.record, job->customer_id, message);
    if (status == DW_OK && job->deck_id)
        status = dw_record_load(book, &dossier->deck.record, job->deck_id, message);
    if (status == DW_OK)
        status = read_own(book, &dossier->arm.record, job->deck_id, message);
    if (status == DW_OK)
        status = read_own(book, &dossier->cartridge.record, job->deck_id, message);
    if (status == DW_OK)
        status = read_last(book, &dossier->stylus.record, "cartridge_id", dossier->cartridge.record.id, message);
    if (status == DW_OK)
        status = read_last(book, &dossier->intake.record, "job_id", job->record.id, message);
    if (status == DW_OK)
        status = dw_verdict_standing(book, job->record.id, &dossier->verdicts, message);
    if (status == DW_OK)
        status = dw_dossier_read_told(dossier, message);
    if (status == DW_OK)
        status = read_currency(dossier, message);
    if (status == DW_OK)
        read_logo(dossier);
    dossier->number = dw_text_format("%04lld", (long long)job->number);
    return status;
}

void dw_dossier_clear(DwDossier *dossier)
{
    dw_record_clear(&dossier->job.record);
    dw_record_clear(&dossier->customer.record);
    dw_record_clear(&dossier->deck.record);
    dw_record_clear(&dossier->arm.record);
    dw_record_clear(&dossier->cartridge.record);
    dw_record_clear(&dossier->stylus.record);
    dw_record_clear(&dossier->intake.record);
    dw_records_clear(&dossier->verdicts);
    free(dossier->number);
    free(dossier->currency);
    free(dossier->told);
    free(dossier->electronic);
    free(dossier->electronic_name);
    free(dossier->electronic_on);
    dw_picture_free(dossier->logo);
    for (size_t i = 0; i < dossier->chart_count; i++)
        dw_sheet_plots_free(dossier->charts[i].plots, dossier->charts[i].count);
    free(dossier->charts);
    dw_comparison_clear(&dossier->comparison);
    dw_records_clear(&dossier->left);
    dw_sheet_free(dossier->noted);
    *dossier = (DwDossier){0};
}

const char *dw_dossier_say(const DwDossier *dossier, const char *group, const char *key)
{
    assert(!dw_sentence_find(group, key)); // a sentence is printed by its condition alone
    return dw_paper_words_say(dossier->words, group, key);
}

char *dw_dossier_setting(const DwDossier *dossier, const char *setting)
{
    return dw_settings_text(dossier->book, setting);
}

char *dw_dossier_amount(const DwDossier *dossier, int64_t amount)
{
    char *plain = dw_money_text(amount, (int)dw_settings_integer(dossier->book, "money.digits"));
    char *printed = dw_number_amount(plain);
    free(plain);
    return printed;
}

char *dw_dossier_money(const DwDossier *dossier, int64_t amount)
{
    char *number = dw_dossier_amount(dossier, amount);
    const char *currency = dossier->currency, *key = isalpha((unsigned char)currency[0]) ? "money.code" : "money.sign";
    char *text =
        !*number ? dw_memory_text("")
                 : dw_paper_words_fill(dossier->words, "numbers", key, "amount", number, "currency", currency, NULL);
    free(number);
    return text;
}

char *dw_dossier_day(const char *moment)
{
    char date[DW_DATE_SIZE] = "";
    if (moment && dw_moment_is_date(moment))
        return dw_day_print(moment);
    dw_moment_day(moment ? moment : "", date);
    return dw_day_print(date);
}

char *dw_dossier_time(const char *moment)
{
    struct tm at = {0}, here;
    char date[32] = "", time[32] = "";
    if (!moment || !dw_moment_is_moment(moment) || !strptime(moment, "%Y-%m-%dT%H:%M:%SZ", &at))
        return dw_dossier_day(moment);
    time_t seconds = timegm(&at);
    if (localtime_r(&seconds, &here)) {
        strftime(date, sizeof date, "%Y-%m-%d", &here);
        strftime(time, sizeof time, "%H:%M", &here);
    }
    return dw_day_print_time(date, time);
}

char *dw_dossier_number(const char *number)
{
    double value;
    size_t whole = strcspn(number, ".");
    const char *end = dw_text_number(number, &value);
    return number[whole] && end && !*end
               ? dw_text_format("%.*s%s%s", (int)whole, number, dw_number_mark(), number + whole + 1)
               : dw_memory_text(number);
}

// A word of the book's choices as the papers say it; as it is where they do not.
static char *choice_text(const DwDossier *dossier, const DwRecord *record, const char *key, const char *word)
{
    char *name = dw_text_format("%s.%s.%s", record->entity->name, key, word);
    const char *said = dw_dossier_say(dossier, "choices", name);
    char *text = dw_memory_text(*said ? said : word);
    free(name);
    return text;
}

char *dw_dossier_field(const DwDossier *dossier, const DwRecord *record, const char *key)
{
    static const char *const nothing[] = {"unknown", "not said", "none", "not tried"};
    const DwField *field = dw_field_find(record->entity, key);
    char *text = dw_record_text(dossier->book, record, field), *printed = NULL;
    for (size_t i = 0; field->kind == DW_FIELD_CHOICE && i < sizeof nothing / sizeof *nothing; i++)
        if (strcmp(text, nothing[i]) == 0)
            *text = '\0';
    if (field->kind == DW_FIELD_CHOICE && *text)
        printed = choice_text(dossier, record, key, text);
    else if (field->kind == DW_FIELD_REAL)
        printed = dw_dossier_number(text);
    if (!printed)
        return text;
    free(text);
    return printed;
}

char *dw_dossier_deck(const DwDossier *dossier)
{
    const DwDeck *deck = &dossier->deck;
    const char *const parts[] = {deck->make, deck->model, deck->variant};
    DwText text = {0};
    for (size_t i = 0; i < 3; i++)
        if (parts[i] && *parts[i])
            dw_text_add(&text, "%s%s", text.length ? " " : "", parts[i]);
    return dw_text_take(&text);
}

// Whether a deck in STATE is, or was, in the shop.
static bool came_in(DwJobState state)
{
    return state != DW_JOB_BOOKED && state != DW_JOB_DECLINED;
}

char *dw_dossier_received(const DwDossier *dossier)
{
    DwRecords stages;
    if (dossier->intake.record.id && dossier->intake.at)
        return dw_dossier_day(dossier->intake.at);
    if (dw_dossier_records(dossier, &dw_stage_entity, &stages, NULL) != DW_OK)
        return dw_memory_text("");
    char *day = NULL;
    for (size_t i = 0; i < stages.count && !day; i++) {
        const DwStage *stage = (const DwStage *)dw_records_at(&stages, i);
        if (came_in((DwJobState)stage->state))
            day = dw_dossier_day(stage->at);
    }
    dw_records_clear(&stages);
    return day ? day : dw_memory_text("");
}

static bool set_alike(const DwSetUp *a, const DwSetUp *b)
{
    return strcmp(a->value, b->value) == 0 && strcmp(a->unit ? a->unit : "", b->unit ? b->unit : "") == 0;
}

char *dw_dossier_changed_settings(const DwDossier *dossier, size_t *same, size_t *changed)
{
    DwRecords found = {0}, left = {0};
    int64_t job = dossier->job.record.id;
    *same = *changed = 0;
    if (dw_set_up_standing(dossier->book, job, DW_PHASE_AS_RECEIVED, &found, NULL) == DW_OK)
        dw_set_up_standing(dossier->book, job, DW_PHASE_AS_LEFT, &left, NULL);
    char **labels = dw_memory_new(left.count + 1, sizeof *labels);
    for (size_t i = 0; i < left.count; i++) {
        const DwSetUp *after = (const DwSetUp *)dw_records_at(&left, i), *before = dw_set_up_find(&found, after->key);
        if (before && set_alike(before, after))
            ++*same;
        else if (before)
            labels[(*changed)++] = dw_standing_name(dossier, after->key, after->label);
    }
    char *text = dw_dossier_list(dossier, labels, *changed);
    for (size_t i = 0; i < *changed; i++)
        free(labels[i]);
    free(labels);
    dw_records_clear(&found);
    dw_records_clear(&left);
    return text;
}

char *dw_dossier_list(const DwDossier *dossier, char *const *words, size_t count)
{
    DwText text = {0};
    for (size_t i = 0; i < count; i++) {
        if (i > 0 && i + 1 == count)
            dw_text_add(&text, " %s ", dw_dossier_say(dossier, "paper", "and"));
        dw_text_add(&text, "%s%s", i > 0 && i + 1 < count ? ", " : "", words[i]);
    }
    return dw_text_take(&text);
}

char *dw_dossier_list_typed(const DwDossier *dossier, char *const *words, size_t count)
{
    if (dw_paper_words_are_english(dossier->words))
        return dw_dossier_list(dossier, words, count);
    DwText text = {0};
    for (size_t i = 0; i < count; i++)
        dw_text_add(&text, "%s%s", i ? "; " : "", words[i]);
    return dw_text_take(&text);
}

DwStatus dw_dossier_records(const DwDossier *dossier, const DwEntity *entity, DwRecords *records, DwMessage *message)
{
    return dw_record_list(dossier->book, entity, "job_id", dossier->job.record.id, records, message);
}

void dw_dossier_note_lost(const DwDossier *dossier, const DwAttachment *attachment)
{
    dw_text_add(dossier->lost, "%s%s (id %lld)", dossier->lost->length ? ", " : "", dw_attachment_name(attachment),
                (long long)attachment->record.id);
}

bool dw_dossier_has_file(const DwDossier *dossier, const DwAttachment *attachment)
{
    bool has = dw_attachment_state(dossier->book, attachment) == DW_ATTACHMENT_WHOLE;
    if (!has)
        dw_dossier_note_lost(dossier, attachment);
    return has;
}

DwPicture *dw_dossier_signature(const DwDossier *dossier, int phase, char **at)
{
    DwRecords attachments;
    DwPicture *picture = NULL;
    if (dw_attachment_of_job(dossier->book, dossier->job.record.id, &attachments, NULL) != DW_OK)
        return NULL;
    for (size_t i = attachments.count; i-- > 0 && !picture;) {
        const DwAttachment *attachment = (const DwAttachment *)dw_records_at(&attachments, i);
        if (attachment->kind != DW_ATTACHMENT_SIGNATURE || attachment->phase != phase)
            continue;
        char *path = dw_attachment_path(dossier->book, attachment);
        if (dw_picture_read(path, 800, 0, &picture, NULL) != DW_OK) {
            picture = NULL;
            dw_dossier_note_lost(dossier, attachment);
        } else
            *at = dw_dossier_time(attachment->at);
        free(path);
    }
    dw_records_clear(&attachments);
    return picture;
}
