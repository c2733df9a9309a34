// SPDX-License-Identifier: MIT
#include "cli/demo_shop.h"

#include "base/memory.h"
#include "base/text.h"
#include "book/money/consent.h"
#include "book/shop/deck.h"
#include "book/entry/entry.h"
#include "book/money/payment.h"
#include "book/job/job.h"
#include "book/shop/register.h"
#include "book/shop/settings.h"
#include "book/shop/stock.h"
#include "book/job/verdict.h"
#include "book/job/work.h"
#include "cli/book_call.h"
#include "procedure/registry/data_table.h"

#include <stdio.h>
#include <stdlib.h>
#include <string.h>

const char *dw_demo_shop_value(const DwDemoShop *shop, const char *key)
{
    for (size_t i = shop->from; i < shop->to; i++)
        if (strcmp(shop->file->lines[i].key, key) == 0)
            return shop->file->lines[i].value;
    return NULL;
}

static DwStatus find_label(const DwDemoShop *shop, const char *text, int64_t *id, DwMessage *message)
{
    for (size_t i = 0; text && *text == '@' && i < shop->named_count; i++)
        if (strcmp(shop->named[i].label, text + 1) == 0) {
            *id = shop->named[i].id;
            return DW_OK;
        }
    return dw_fail(message, DW_BAD_INPUT, "\"%s\" names nothing that came before.", text ? text : "");
}

DwStatus dw_demo_shop_reference(const DwDemoShop *shop, const char *key, int64_t *id, DwMessage *message)
{
    return find_label(shop, dw_demo_shop_value(shop, key), id, message);
}

static const char *value_or(const DwDemoShop *shop, const char *key, const char *otherwise)
{
    const char *value = dw_demo_shop_value(shop, key);
    return value ? value : otherwise;
}

// A value that goes on in further lines of the file, as one. The caller frees it.
static char *joined(const DwDemoShop *shop, size_t first)
{
    const DwKeyLine *lines = shop->file->lines;
    DwText text = {0};
    for (size_t i = first; i < shop->to && strcmp(lines[i].key, lines[first].key) == 0; i++)
        dw_text_add(&text, "%s%s", i > first ? " " : "", lines[i].value);
    return dw_text_take(&text);
}

// References are written @label, days as so many from the day it is then ("+7").
static DwStatus set_field(const DwDemoShop *shop, DwRecord *record, const char *key, const char *text,
                          DwMessage *message)
{
    const DwField *field = dw_field_find(record->entity, key);
    char number[32] = "", today[DW_DATE_SIZE];
    if (field && field->kind == DW_FIELD_REFERENCE && *text == '@') {
        int64_t id = 0;
        DwStatus status = find_label(shop, text, &id, message);
        if (status != DW_OK)
            return status;
        snprintf(number, sizeof number, "%lld", (long long)id);
    } else if (field && field->kind == DW_FIELD_DATE && (*text == '+' || *text == '-')) {
        dw_book_today(shop->book, today);
        dw_moment_add_days(today, strtol(text, NULL, 10), number);
    } else if (field && field->kind == DW_FIELD_MOMENT && strcmp(text, "now") == 0)
        dw_book_now(shop->book, number);
    return dw_record_set(shop->book, record, key, *number ? number : text, message);
}

static DwStatus set_fields(const DwDemoShop *shop, DwRecord *record, DwMessage *message)
{
    DwStatus status = DW_OK;
    for (size_t i = shop->from; i < shop->to && status == DW_OK; i++) {
        const DwKeyLine *line = &shop->file->lines[i];
        if (i > shop->from && strcmp(shop->file->lines[i - 1].key, line->key) == 0)
            continue;
        char *text = joined(shop, i);
        status = set_field(shop, record, line->key, text, message);
        free(text);
    }
    return status;
}

static void remember(DwDemoShop *shop, int64_t id)
{
    shop->named = dw_memory_resize(shop->named, shop->named_count + 1, sizeof *shop->named);
    shop->named[shop->named_count].label = dw_memory_text(shop->label);
    shop->named[shop->named_count++].id = id;
}

static DwStatus add_record(DwDemoShop *shop, const DwEntity *entity, DwMessage *message)
{
    DwRecord *record = dw_record_new(entity);
    DwStatus status = set_fields(shop, record, message);
    if (status == DW_OK)
        status = dw_entry_add(shop->book, record, message);
    if (status == DW_OK)
        remember(shop, record->id);
    dw_record_free(record);
    return status;
}

// "day = -12" and "time = 09:30": from then on it is that moment.
static DwStatus set_now(DwDemoShop *shop, DwMessage *message)
{
    char now[DW_MOMENT_SIZE], today[DW_DATE_SIZE], day[DW_DATE_SIZE], moment[64];
    dw_moment_now(now);
    dw_moment_day(now, today);
    dw_moment_add_days(today, strtol(value_or(shop, "day", "0"), NULL, 10), day);
    snprintf(moment, sizeof moment, "%s%s%s:00Z", day, "T", value_or(shop, "time", "10:00"));
    if (!dw_moment_is_moment(moment))
        return dw_fail(message, DW_BAD_INPUT, "\"%s\" is no moment.", moment);
    dw_book_set_now(shop->book, moment);
    return DW_OK;
}

static DwStatus set_settings(DwDemoShop *shop, DwMessage *message)
{
    DwStatus status = DW_OK;
    for (size_t i = shop->from; i < shop->to && status == DW_OK; i++) {
        if (i > shop->from && strcmp(shop->file->lines[i - 1].key, shop->file->lines[i].key) == 0)
            continue;
        char *text = joined(shop, i);
        status = dw_settings_set(shop->book, shop->file->lines[i].key, text, message);
        free(text);
    }
    return status;
}

static DwStatus give_deck(DwDemoShop *shop, DwMessage *message)
{
    int64_t deck = 0, customer = 0;
    DwStatus status = dw_demo_shop_reference(shop, "deck", &deck, message);
    if (status == DW_OK)
        status = dw_demo_shop_reference(shop, "customer", &customer, message);
    return status == DW_OK ? dw_deck_give(shop->book, deck, customer, message) : status;
}

static DwStatus note_values(DwDemoShop *shop, DwMessage *message)
{
    int64_t deck = 0;
    DwStatus status = dw_demo_shop_reference(shop, "deck", &deck, message);
    for (size_t i = shop->from; i < shop->to && status == DW_OK; i++) {
        const DwKeyLine *line = &shop->file->lines[i];
        if (strchr(line->key, '.'))
            status = dw_deck_set_value(shop->book, deck, line->key, line->value, message);
    }
    return status;
}

static DwStatus move_stock(DwDemoShop *shop, DwMessage *message)
{
    int64_t stock = 0;
    DwStatus status = dw_demo_shop_reference(shop, "stock", &stock, message);
    double change = 0;
    if (status == DW_OK && !dw_text_number(value_or(shop, "change", "0"), &change))
        status = dw_fail(message, DW_BAD_INPUT, "%s is no quantity of stock.", value_or(shop, "change", "0"));
    return status == DW_OK ? dw_stock_move(shop->book, stock, 0, change, value_or(shop, "why", ""), message) : status;
}

static DwStatus move_job(DwDemoShop *shop, DwMessage *message)
{
    int64_t job = 0;
    int state = dw_field_choice(dw_field_find(&dw_job_entity, "state"), value_or(shop, "state", ""));
    DwStatus status = dw_demo_shop_reference(shop, "job", &job, message);
    if (status == DW_OK && state < 0)
        status = dw_fail(message, DW_BAD_INPUT, "\"%s\" is no state of a job.", value_or(shop, "state", ""));
    return status == DW_OK ? dw_job_move(shop->book, job, (DwJobState)state, value_or(shop, "waiting_for", ""),
                                         value_or(shop, "note", ""), message)
                           : status;
}

// Sets fields of a job that were not known when it was opened.
static DwStatus change_job(DwDemoShop *shop, DwMessage *message)
{
    DwJob job;
    int64_t id = 0;
    dw_record_init(&job.record, &dw_job_entity);
    char *reference = dw_text_format("@%s", shop->label);
    DwStatus status = find_label(shop, reference, &id, message);
    free(reference);
    if (status == DW_OK)
        status = dw_record_load(shop->book, &job.record, id, message);
    if (status == DW_OK)
        status = set_fields(shop, &job.record, message);
    if (status == DW_OK)
        status = dw_record_save(shop->book, &job.record, message);
    dw_record_clear(&job.record);
    return status;
}

static DwStatus tell(DwDemoShop *shop, DwMessage *message)
{
    int64_t job = 0;
    int how = dw_field_choice(dw_field_find(&dw_contact_entity, "how"), value_or(shop, "how", "telephone"));
    DwStatus status = dw_demo_shop_reference(shop, "job", &job, message);
    return status == DW_OK ? dw_job_tell(shop->book, job, (DwRoute)how, value_or(shop, "words", ""), message) : status;
}

static DwStatus acknowledge(DwDemoShop *shop, DwMessage *message)
{
    int64_t job = 0;
    DwStatus status = dw_demo_shop_reference(shop, "job", &job, message);
    return status == DW_OK ? dw_verdict_acknowledge(shop->book, job, value_or(shop, "person", ""),
                                                    value_or(shop, "words", ""), message)
                           : status;
}

static DwStatus draft_estimate(DwDemoShop *shop, DwMessage *message)
{
    DwEstimate estimate;
    int64_t job = 0;
    dw_record_init(&estimate.record, &dw_estimate_entity);
    DwStatus status = dw_demo_shop_reference(shop, "job_id", &job, message);
    if (status == DW_OK)
        status = dw_estimate_draft(shop->book, job, &estimate, message);
    if (status == DW_OK)
        status = set_fields(shop, &estimate.record, message);
    if (status == DW_OK)
        status = dw_record_save(shop->book, &estimate.record, message);
    if (status == DW_OK)
        remember(shop, estimate.record.id);
    dw_record_clear(&estimate.record);
    return status;
}

static DwStatus draft_invoice(DwDemoShop *shop, DwMessage *message)
{
    DwInvoice invoice;
    int64_t job = 0, estimate = 0;
    int tier = dw_field_choice(dw_field_find(&dw_estimate_line_entity, "tier"), value_or(shop, "tier", "recommended"));
    dw_record_init(&invoice.record, &dw_invoice_entity);
    DwStatus status = dw_demo_shop_reference(shop, "job", &job, message);
    if (status == DW_OK && dw_demo_shop_value(shop, "estimate"))
        status = dw_demo_shop_reference(shop, "estimate", &estimate, message);
    if (status == DW_OK)
        status = dw_invoice_draft(shop->book, job, estimate, (DwTier)tier, &invoice, message);
    if (status == DW_OK)
        remember(shop, invoice.record.id);
    dw_record_clear(&invoice.record);
    return status;
}

static DwStatus issue_estimate(DwDemoShop *shop, DwMessage *message)
{
    int64_t id = 0;
    DwStatus status = dw_demo_shop_reference(shop, "estimate", &id, message);
    return status == DW_OK ? dw_estimate_issue(shop->book, id, message) : status;
}

static DwStatus issue_invoice(DwDemoShop *shop, DwMessage *message)
{
    int64_t id = 0;
    DwStatus status = dw_demo_shop_reference(shop, "invoice", &id, message);
    return status == DW_OK ? dw_invoice_issue(shop->book, id, message) : status;
}

static DwStatus pay_invoice(DwDemoShop *shop, DwMessage *message)
{
    int64_t id = 0;
    char today[DW_DATE_SIZE];
    dw_book_today(shop->book, today);
    DwStatus status = dw_demo_shop_reference(shop, "invoice", &id, message);
    return status == DW_OK ? dw_invoice_pay(shop->book, id, today, message) : status;
}

static const struct {
    const char *kind;
    DwStatus (*play)(DwDemoShop *shop, DwMessage *message);
} acts[] = {
    {"now", set_now},
    {"settings", set_settings},
    {"give", give_deck},
    {"values", note_values},
    {"shelf", move_stock},
    {"move", move_job},
    {"change", change_job},
    {"tell", tell},
    {"acknowledge", acknowledge},
    {"estimate", draft_estimate},
    {"invoice", draft_invoice},
    {"issue_estimate", issue_estimate},
    {"issue_invoice", issue_invoice},
    {"pay", pay_invoice},
    {"measure", dw_demo_shop_measure},
    {"hand", dw_demo_shop_hand},
    {"picture", dw_demo_shop_picture},
};

static DwStatus play_group(DwDemoShop *shop, DwMessage *message)
{
    for (size_t i = 0; i < sizeof acts / sizeof *acts; i++)
        if (strcmp(acts[i].kind, shop->kind) == 0)
            return acts[i].play(shop, message);
    const DwEntity *entity = dw_entity_find(shop->kind);
    return entity ? add_record(shop, entity, message)
                  : dw_fail(message, DW_BAD_INPUT, "\"%s\" is nothing that happens in a shop.", shop->kind);
}

static DwStatus play_file(DwDemoShop *shop, const char *path, DwMessage *message)
{
    const DwKeyfile *file = shop->file;
    for (size_t from = 0, to; from < file->count; from = to) {
        const char *group = file->lines[from].group;
        for (to = from; to < file->count && strcmp(file->lines[to].group, group) == 0; to++)
            ;
        size_t length = strcspn(group, " ");
        snprintf(shop->kind, sizeof shop->kind, "%.*s", (int)length, group);
        shop->label = group[length] ? group + length + 1 : "";
        shop->from = from;
        shop->to = to;
        DwMessage why;
        DwStatus status = play_group(shop, &why);
        if (status != DW_OK)
            return dw_fail(message, status, "%s: line %u: %s", path, file->lines[from].line, why.text);
    }
    return DW_OK;
}

DwStatus dw_demo_shop_fill(DwBook *book, const char *folder, DwMessage *message)
{
    DwKeyfile file;
    char *path = dw_text_format("%s/demo/shop.ini", dw_data_folder());
    DwDemoShop shop = {.book = book, .folder = folder, .file = &file};
    DwStatus status = dw_keyfile_read(path, &file, message);
    if (status == DW_OK) {
        status = play_file(&shop, path, message);
        dw_keyfile_clear(&file);
    }
    for (size_t i = 0; i < shop.named_count; i++)
        free(shop.named[i].label);
    free(shop.named);
    free(path);
    dw_book_set_now(book, NULL);
    return status;
}
