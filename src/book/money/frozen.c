// SPDX-License-Identifier: MIT
#include "book/money/frozen.h"

#include "base/memory.h"
#include "base/text.h"
#include "book/job/work.h"
#include "book/shop/arm.h"
#include "book/shop/cartridge.h"
#include "book/shop/deck.h"
#include "book/shop/settings.h"
#include "book/store/private.h"

#include <stdlib.h>
#include <string.h>

// What a paper's head says of the deck, and where each is found from the job's deck ?1.
static const struct {
    const DwEntity *entity;
    const char *newest; // the last of them
    const char *keys[5];
} printed[] = {
    {&dw_deck_entity, "SELECT ?1", {"make", "model", "variant", "serial", "drive"}},
    {&dw_arm_entity, "SELECT max(id) FROM arm WHERE deck_id = ?1", {"make", "model", "serial"}},
    {&dw_cartridge_entity, "SELECT max(id) FROM cartridge WHERE deck_id = ?1", {"make", "model", "serial"}},
    {&dw_stylus_entity,
     "SELECT max(id) FROM stylus WHERE cartridge_id = (SELECT max(id) FROM cartridge WHERE deck_id = ?1)",
     {"model", "profile", "hours"}},
};

// What the line of the other decks on it begins with.
#define OTHERS "others="

// A line "arm.make=…" for each of KEYS that RECORD says.
static void add_lines(const DwBook *book, const DwRecord *record, const char *const keys[5], DwText *lines)
{
    for (size_t i = 0; i < 5 && keys[i]; i++) {
        char *value = dw_record_text(book, record, dw_field_find(record->entity, keys[i]));
        if (*value)
            dw_text_add(lines, "%s%s.%s=%s", lines->length ? "\n" : "", record->entity->name, keys[i], value);
        free(value);
    }
}

static DwStatus add_printed(DwBook *book, size_t which, int64_t deck, DwText *lines, DwMessage *message)
{
    int64_t id = 0;
    const DwEntity *entity = printed[which].entity;
    DwStatus status = dw_query_number(book, printed[which].newest, deck, &id, message);
    if (status != DW_OK || !id)
        return status;
    DwRecord *record = dw_record_new(entity);
    status = dw_record_load(book, record, id, message);
    if (status == DW_OK)
        add_lines(book, record, printed[which].keys, lines);
    dw_record_free(record);
    return status;
}

// "0013 Hollin D1; 0014 …" as the book has them now.
static DwStatus read_other_decks(DwBook *book, int64_t invoice, char **decks, DwMessage *message)
{
    DwText text = {0};
    DwQuery query = dw_query_begin(
        book, "SELECT DISTINCT format('%04d', number) || ' ' || trim(coalesce(make, '') || ' ' || coalesce(model, '')) "
              "FROM invoice_line JOIN job ON job.id = invoice_line.job_id LEFT JOIN deck ON deck.id = deck_id "
              "WHERE invoice_id = ? ORDER BY 1");
    dw_query_bind_integer(&query, invoice);
    dw_text_add(&text, "%s", "");
    while (dw_query_step(&query))
        dw_text_add(&text, "%s%s", text.length ? "; " : "", dw_query_text(&query, 0));
    *decks = dw_text_take(&text);
    return dw_query_end(&query, message);
}

static DwStatus freeze_deck(DwBook *book, DwInvoice *invoice, DwMessage *message)
{
    DwText lines = {0};
    int64_t deck = 0;
    DwStatus status = dw_query_number(book, "SELECT deck_id FROM job WHERE id = ?", invoice->job_id, &deck, message);
    for (size_t i = 0; status == DW_OK && deck && i < sizeof printed / sizeof *printed; i++)
        status = add_printed(book, i, deck, &lines, message);
    char *others = NULL;
    if (status == DW_OK)
        status = read_other_decks(book, invoice->record.id, &others, message);
    if (others && *others)
        dw_text_add(&lines, "%s" OTHERS "%s", lines.length ? "\n" : "", others);
    free(others);
    dw_field_replace(&invoice->deck_words, lines.length ? lines.chars : "");
    dw_text_clear(&lines);
    return status;
}

// Those that went into the decks of the jobs on it.
static DwStatus parts_of(DwBook *book, const DwInvoice *invoice, DwRecords *parts, DwMessage *message)
{
    return dw_record_select(
        book, &dw_part_entity,
        "WHERE job_id = (SELECT job_id FROM invoice WHERE id = ?1) OR job_id IN (SELECT job_id FROM "
        "invoice_line WHERE invoice_id = ?1 AND job_id IS NOT NULL) ORDER BY job_id, id",
        invoice->record.id, parts, message);
}

// "used|returned|Belt": the name last, for it may have a line in it.
static DwStatus freeze_parts(DwBook *book, DwInvoice *invoice, DwMessage *message)
{
    DwText lines = {0};
    DwRecords parts;
    DwStatus status = parts_of(book, invoice, &parts, message);
    if (status != DW_OK)
        return status;
    for (size_t i = 0; i < parts.count; i++) {
        const DwRecord *part = dw_records_at(&parts, i);
        char *condition = dw_record_text(book, part, dw_field_find(&dw_part_entity, "condition"));
        char *old = dw_record_text(book, part, dw_field_find(&dw_part_entity, "old_part"));
        dw_text_add(&lines, "%s%s|%s|%s", i ? "\n" : "", condition, old, ((const DwFittedPart *)part)->name);
        free(condition);
        free(old);
    }
    dw_records_clear(&parts);
    dw_field_replace(&invoice->part_words, lines.length ? lines.chars : "");
    dw_text_clear(&lines);
    return DW_OK;
}

DwStatus dw_invoice_freeze(DwBook *book, DwInvoice *invoice, DwMessage *message)
{
    const struct {
        const char *key;
        char **place;
    } texts[] = {
        {"shop.name", &invoice->shop_name},
        {"shop.address", &invoice->shop_address},
        {"shop.phone", &invoice->shop_phone},
        {"shop.email", &invoice->shop_email},
        {"shop.country", &invoice->shop_country},
        {"shop.tax_number", &invoice->shop_tax_number},
        {"shop.account_name", &invoice->account_name},
    };
    for (size_t i = 0; i < sizeof texts / sizeof *texts; i++) {
        free(*texts[i].place);
        *texts[i].place = dw_settings_text(book, texts[i].key);
    }
    dw_field_stamp(book, &invoice->issued_at, NULL);
    DwStatus status = freeze_deck(book, invoice, message);
    return status == DW_OK ? freeze_parts(book, invoice, message) : status;
}

// The line that begins at AT, and where the next does.
static char *take_line(const char **at)
{
    size_t length = strcspn(*at, "\n");
    char *line = dw_text_format("%.*s", (int)length, *at);
    *at += length;
    *at += **at == '\n';
    return line;
}

static bool is_frozen(const DwInvoice *invoice)
{
    return invoice->state == DW_INVOICE_ISSUED && invoice->issued_at;
}

DwStatus dw_invoice_other_decks(DwBook *book, const DwInvoice *invoice, char **decks, DwMessage *message)
{
    if (!is_frozen(invoice))
        return read_other_decks(book, invoice->record.id, decks, message);
    char *found = dw_memory_text("");
    for (const char *at = invoice->deck_words ? invoice->deck_words : ""; *at;) {
        char *line = take_line(&at);
        if (strncmp(line, OTHERS, strlen(OTHERS)) == 0)
            dw_field_replace(&found, line + strlen(OTHERS));
        free(line);
    }
    *decks = found;
    return DW_OK;
}

DwStatus dw_invoice_thaw(DwBook *book, const DwInvoice *invoice, DwRecord *record, DwMessage *message)
{
    const DwEntity *entity = record->entity;
    size_t length = strlen(entity->name);
    DwStatus status = DW_OK;
    if (!is_frozen(invoice))
        return DW_OK;
    for (size_t i = 0; i < sizeof printed / sizeof *printed; i++)
        for (size_t k = 0; printed[i].entity == entity && k < 5 && printed[i].keys[k] && status == DW_OK; k++)
            status = dw_field_set(book, record, dw_field_find(entity, printed[i].keys[k]),
                                  strcmp(printed[i].keys[k], "drive") == 0 ? "unknown" : "", message);
    for (const char *at = invoice->deck_words ? invoice->deck_words : ""; *at && status == DW_OK;) {
        char *line = take_line(&at), *value = strchr(line, '=');
        if (value && strncmp(line, entity->name, length) == 0 && line[length] == '.') {
            *value = '\0';
            const DwField *field = dw_field_find(entity, line + length + 1);
            status = field ? dw_field_set(book, record, field, value + 1, message) : DW_OK;
        }
        free(line);
    }
    return status;
}

static DwStatus take_part(DwBook *book, char *line, DwFittedPart *part, DwMessage *message)
{
    static const char *const keys[] = {"condition", "old_part", "name"};
    DwStatus status = DW_OK;
    for (size_t i = 0; i < 3 && line && status == DW_OK; i++) {
        char *end = i < 2 ? strchr(line, '|') : NULL;
        if (end)
            *end = '\0';
        status = dw_field_set(book, &part->record, dw_field_find(&dw_part_entity, keys[i]), line, message);
        line = end ? end + 1 : NULL;
    }
    return status;
}

DwStatus dw_invoice_parts(DwBook *book, const DwInvoice *invoice, DwRecords *parts, DwMessage *message)
{
    if (!is_frozen(invoice))
        return parts_of(book, invoice, parts, message);
    DwRecords kept = {.entity = &dw_part_entity};
    DwStatus status = DW_OK;
    for (const char *at = invoice->part_words ? invoice->part_words : ""; *at && status == DW_OK;) {
        char *line = take_line(&at);
        kept.items = dw_memory_resize(kept.items, kept.count + 1, dw_part_entity.size);
        DwFittedPart *part = (DwFittedPart *)dw_records_at(&kept, kept.count++);
        dw_record_init(&part->record, &dw_part_entity);
        status = take_part(book, line, part, message);
        free(line);
    }
    if (status == DW_OK)
        *parts = kept;
    else
        dw_records_clear(&kept);
    return status;
}
