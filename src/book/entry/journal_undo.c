// SPDX-License-Identifier: MIT
// Undoing what the journal noted: always by a change of its own, which the
// journal notes too.
#include "base/memory.h"
#include "base/text.h"
#include "base/tongue.h"
#include "book/store/attachment.h"
#include "book/entry/entry.h"
#include "book/entry/twin.h"
#include "book/store/private.h"
#include "book/shop/settings.h"
#include "book/job/work.h"
#include "book/money/payment.h"

#include <stdio.h>
#include <stdlib.h>
#include <string.h>

#define ADDED "added"
#define SETTING "setting"
#define INVOICE_STAYS "The invoice was issued and is not changed. Correct it with another one."
#define ESTIMATE_STAYS "The estimate was given out and is not changed. Start another version."
// The bill of line ?1, also of one that was taken out.
#define BILL_OF_LINE(bill)                                                                                             \
    "coalesce((SELECT " bill "_id FROM " bill                                                                          \
    "_line WHERE id = ?1), (SELECT old_value FROM journal WHERE entity = '" bill                                       \
    "_line' AND row_id = ?1 AND field = '" bill "_id' ORDER BY id DESC LIMIT 1))"

static bool is(const char *text, const char *word)
{
    return strcmp(text, word) == 0;
}

// The first line about the same record as a whole after LINE: "removed", "put back"; "" for none.
static DwStatus later_whole(DwBook *book, const DwJournalLine *line, char word[32], DwMessage *message)
{
    DwQuery query = dw_query_begin(book, "SELECT new_value FROM journal WHERE id > ? AND entity = ? AND row_id = ? AND "
                                         "field = '' ORDER BY id LIMIT 1");
    dw_query_bind_integer(&query, line->id);
    dw_query_bind_text(&query, line->entity);
    dw_query_bind_integer(&query, line->row);
    snprintf(word, 32, "%s", dw_query_step(&query) ? dw_query_text(&query, 0) : "");
    return dw_query_end(&query, message);
}

static DwStatus check_present_value(const char *now, const DwJournalLine *line, const char *label, DwMessage *message)
{
    if (is(line->old_value, DW_JOURNAL_ERASED) || is(line->new_value, DW_JOURNAL_ERASED))
        return dw_fail(message, DW_BAD_INPUT, "What stood there was erased with the person it was about.");
    if (is(now, line->new_value))
        return DW_OK;
    return dw_fail(message, DW_BAD_INPUT,
                   "%s was changed again since: it is now \"%.*s\". Undo the later change first.", dw_said(label),
                   dw_text_whole(now, 200), now);
}

static DwStatus check_setting(DwBook *book, const DwJournalLine *line, DwMessage *message)
{
    const DwSetting *setting = dw_settings_find(line->field);
    if (!setting)
        return dw_fail(message, DW_BAD_INPUT,
                       "That is not kept where it could be put back. Set it anew in the settings.");
    DwStatus status = dw_field_check(book, &setting->field, line->old_value, message);
    if (status != DW_OK)
        return status;
    char *now = dw_settings_text(book, line->field);
    status = check_present_value(now, line, setting->field.label, message);
    free(now);
    return status;
}

static DwStatus check_added(DwBook *book, const DwEntity *entity, const DwJournalLine *line, DwMessage *message)
{
    if (!dw_entry_is_removed(entity))
        return dw_fail(message, DW_BAD_INPUT, "A %s stays in the book.", dw_said(entity->label));
    DwJournalSpan since;
    DwStatus status = dw_journal_since(book, line->id, line->entity, line->row, &since, message);
    if (status == DW_OK && since.first)
        return dw_fail(message, DW_BAD_INPUT, "The %s was changed since it was added. Remove it instead.",
                       dw_said(entity->label));
    return status;
}

static DwStatus check_removed(const DwEntity *entity, DwMessage *message)
{
    if (entity == &dw_attachment_entity)
        return dw_fail(message, DW_BAD_INPUT, "Its file is off the disk. Add it again.");
    for (size_t i = 0; i < entity->field_count; i++)
        if (entity->fields[i].personal)
            return dw_fail(message, DW_BAD_INPUT,
                           "%s is a person's and went out of the journal with the %s. Enter it anew.",
                           dw_said(entity->fields[i].label), dw_said(entity->label));
    return DW_OK;
}

// Refuses where row ROW of ENTITY went into another: the merging is undone, not what it did.
static DwStatus check_not_merged(DwBook *book, const DwEntity *entity, int64_t row, DwMessage *message)
{
    DwQuery query = dw_query_begin(book, "SELECT id, new_value FROM journal WHERE entity = ? AND row_id = ? AND field "
                                         "= '' ORDER BY id DESC LIMIT 1");
    dw_query_bind_text(&query, entity->name);
    dw_query_bind_integer(&query, row);
    bool any = dw_query_step(&query);
    char *merged = dw_memory_text(any ? dw_query_text(&query, 1) : "");
    long long line = any ? dw_query_integer(&query, 0) : 0;
    DwStatus status = dw_query_end(&query, message);
    if (status == DW_OK && strncmp(merged, DW_JOURNAL_MERGED, strlen(DW_JOURNAL_MERGED)) == 0)
        status =
            dw_fail(message, DW_BAD_INPUT, "The %s, id %lld, was %s. Undo that first: it is line %lld of the journal.",
                    dw_said(entity->label), (long long)row, merged, line);
    free(merged);
    return status;
}

// The same for the field of LINE where it points to one that went so.
static DwStatus check_not_moved(DwBook *book, const DwField *field, const DwJournalLine *line, DwMessage *message)
{
    const DwEntity *pointed = field && field->kind == DW_FIELD_REFERENCE ? dw_entity_find(field->refers) : NULL;
    return pointed ? check_not_merged(book, pointed, strtoll(line->old_value, NULL, 10), message) : DW_OK;
}

static DwStatus check_whole(DwBook *book, const DwEntity *entity, const DwJournalLine *line, DwMessage *message)
{
    char word[32];
    DwStatus status = later_whole(book, line, word, message);
    if (status != DW_OK)
        return status;
    if (*word)
        return dw_fail(message, DW_BAD_INPUT, "The %s was %s since.", dw_said(entity->label), dw_said(word));
    if (is(line->new_value, ADDED))
        return check_added(book, entity, line, message);
    if (is(line->new_value, DW_JOURNAL_REMOVED))
        return check_removed(entity, message);
    return dw_fail(message, DW_BAD_INPUT, "It stands in the book again; that can be removed like any other %s.",
                   dw_said(entity->label));
}

// Loads the record that LINE is about; the caller clears and frees it.
static DwStatus load(DwBook *book, const DwEntity *entity, const DwJournalLine *line, DwRecord **record,
                     DwMessage *message)
{
    DwRecord *loaded = dw_record_new(entity);
    DwStatus status = dw_record_load(book, loaded, line->row, message);
    if (status == DW_OK) {
        *record = loaded;
        return DW_OK;
    }
    free(loaded);
    return status;
}

static DwStatus check_field(DwBook *book, const DwEntity *entity, const DwJournalLine *line, DwMessage *message)
{
    const DwField *field = dw_field_find(entity, line->field);
    if (!field || !dw_entry_is_changed(entity, field))
        return dw_fail(message, DW_BAD_INPUT,
                       "%s is not typed: it follows from what is done with the %s. Do that again the other way.",
                       field ? dw_said(field->label) : line->field, dw_said(entity->label));
    char word[32];
    DwStatus status = later_whole(book, line, word, message);
    if (status == DW_OK && *word)
        return dw_fail(message, DW_BAD_INPUT, "The %s was %s since.", dw_said(entity->label), dw_said(word));
    DwRecord *record;
    if (status == DW_OK)
        status = load(book, entity, line, &record, message);
    if (status != DW_OK)
        return status;
    char *now = dw_record_text(book, record, field);
    status = check_present_value(now, line, field->label, message);
    free(now);
    dw_record_free(record);
    return status;
}

// A value that was noted because its record went: undone with the removal.
static DwStatus check_not_of_removal(DwBook *book, const DwEntity *entity, const DwJournalLine *line,
                                     DwMessage *message)
{
    DwQuery query = dw_query_begin(book, "SELECT new_value FROM journal WHERE id < ? AND entity = ? AND row_id = ? AND "
                                         "field = '' ORDER BY id DESC LIMIT 1");
    dw_query_bind_integer(&query, line->id);
    dw_query_bind_text(&query, line->entity);
    dw_query_bind_integer(&query, line->row);
    bool removal = dw_query_step(&query) && is(dw_query_text(&query, 0), DW_JOURNAL_REMOVED);
    DwStatus status = dw_query_end(&query, message);
    if (status == DW_OK && removal)
        return dw_fail(message, DW_BAD_INPUT, "It went with the %s. Undo the removal.", dw_said(entity->label));
    return status;
}

// A bill that was given out is not changed, nor are its lines.
static DwStatus check_draft(DwBook *book, const DwJournalLine *line, DwMessage *message)
{
    static const struct {
        const char *entity, *state, *why;
    } bills[] = {
        {"invoice", "SELECT state <> 'draft' FROM invoice WHERE id = ?1", INVOICE_STAYS},
        {"invoice_line", "SELECT state <> 'draft' FROM invoice WHERE id = " BILL_OF_LINE("invoice"), INVOICE_STAYS},
        {"estimate", "SELECT state <> 'draft' FROM estimate WHERE id = ?1", ESTIMATE_STAYS},
        {"estimate_line", "SELECT state <> 'draft' FROM estimate WHERE id = " BILL_OF_LINE("estimate"), ESTIMATE_STAYS},
    };
    for (size_t i = 0; i < sizeof bills / sizeof *bills; i++) {
        int64_t stays = 0;
        if (!is(line->entity, bills[i].entity))
            continue;
        DwStatus status = dw_query_number(book, bills[i].state, line->row, &stays, message);
        return status == DW_OK && stays ? dw_fail(message, DW_BAD_INPUT, "%s", dw_said(bills[i].why)) : status;
    }
    return DW_OK;
}

DwStatus dw_journal_check_undo(DwBook *book, const DwJournalLine *line, DwMessage *message)
{
    if (is(line->entity, SETTING))
        return check_setting(book, line, message);
    const DwEntity *entity = dw_entity_find(line->entity);
    if (!entity)
        return dw_fail(message, DW_BAD_INPUT, "This program does not know \"%s\".", line->entity);
    if (dw_twin_is_merging(line))
        return dw_twin_check_part(book, line, message);
    DwStatus status = check_not_merged(book, entity, line->row, message);
    if (status == DW_OK)
        status = check_draft(book, line, message);
    if (status == DW_OK && !*line->field)
        return check_whole(book, entity, line, message);
    if (status == DW_OK)
        status = check_not_moved(book, dw_field_find(entity, line->field), line, message);
    if (status == DW_OK)
        status = check_not_of_removal(book, entity, line, message);
    return status == DW_OK ? check_field(book, entity, line, message) : status;
}

static DwStatus undo_field(DwBook *book, const DwEntity *entity, const DwJournalLine *line, DwMessage *message)
{
    DwRecord *record;
    DwStatus status = load(book, entity, line, &record, message);
    if (status != DW_OK)
        return status;
    status = dw_record_set(book, record, line->field, line->old_value, message);
    if (status == DW_OK)
        status = dw_record_save(book, record, message);
    dw_record_free(record);
    return status;
}

static DwStatus undo_added(DwBook *book, const DwEntity *entity, const DwJournalLine *line, DwMessage *message)
{
    DwRecord *record;
    DwStatus status = load(book, entity, line, &record, message);
    if (status != DW_OK)
        return status;
    status = dw_entry_remove(book, record, message);
    dw_record_free(record);
    return status;
}

// Fills RECORD with the values that the journal noted when it went.
static DwStatus refill(DwBook *book, const DwJournalLine *line, DwRecord *record, DwMessage *message)
{
    DwJournal journal;
    DwStatus status = dw_journal_read(book, line->entity, line->row, 0, &journal, message);
    if (status != DW_OK)
        return status;
    for (size_t i = 0; status == DW_OK && i < journal.count; i++) {
        const DwJournalLine *value = &journal.lines[i];
        const DwField *field = value->id > line->id ? dw_field_find(record->entity, value->field) : NULL;
        if (field)
            status = dw_field_set(book, record, field, value->old_value, message);
    }
    dw_journal_clear(&journal);
    return status;
}

static DwStatus undo_removed(DwBook *book, const DwEntity *entity, const DwJournalLine *line, DwMessage *message)
{
    DwRecord *record = dw_record_new(entity);
    DwStatus status = refill(book, line, record, message);
    if (status == DW_OK) // a part goes out of stock once more
        status = entity == &dw_part_entity      ? dw_part_fit(book, (DwFittedPart *)record, message)
                 : entity == &dw_payment_entity ? dw_payment_take(book, (DwPayment *)record, message)
                                                : dw_record_keep(book, record, message);
    if (status == DW_OK)
        status = dw_journal_add(book, line->entity, line->row, "", "", DW_JOURNAL_PUT_BACK, false, message);
    dw_record_free(record);
    return status;
}

static DwStatus undo_checked(DwBook *book, const DwJournalLine *line, DwMessage *message)
{
    DwStatus status = dw_journal_check_undo(book, line, message);
    if (status != DW_OK)
        return status;
    if (is(line->entity, SETTING))
        return dw_settings_set(book, line->field, line->old_value, message);
    if (dw_twin_is_merging(line))
        return dw_twin_part(book, line, message);
    const DwEntity *entity = dw_entity_find(line->entity);
    if (*line->field)
        return undo_field(book, entity, line, message);
    return is(line->new_value, ADDED) ? undo_added(book, entity, line, message)
                                      : undo_removed(book, entity, line, message);
}

// Whether the line belongs to the record of the first one; its line, if so, is undone.
static DwStatus undo_one(DwBook *book, int64_t id, const DwJournalLine *first, DwMessage *message)
{
    DwJournal journal;
    DwStatus status = dw_journal_line(book, id, &journal, message);
    if (status != DW_OK)
        return status;
    const DwJournalLine *line = &journal.lines[0];
    if (line->row == first->row && is(line->entity, first->entity))
        status = undo_checked(book, line, message);
    dw_journal_clear(&journal);
    return status;
}

DwStatus dw_journal_undo_span(DwBook *book, DwJournalSpan span, DwMessage *message)
{
    enum { MOST = 200 }; // no form has as many fields
    if (span.first < 1 || span.last < span.first || span.last - span.first > MOST)
        return dw_fail(message, DW_BAD_INPUT, "Those lines of the journal are not one change.");
    DwStatus status = dw_book_begin(book, message);
    if (status != DW_OK)
        return status;
    DwJournal first = {0};
    status = dw_journal_line(book, span.first, &first, message);
    for (int64_t id = span.last; status == DW_OK && id >= span.first; id--)
        status = undo_one(book, id, &first.lines[0], message);
    dw_journal_clear(&first);
    return dw_book_end(book, status, message);
}

DwStatus dw_journal_undo(DwBook *book, int64_t line, DwMessage *message)
{
    return dw_journal_undo_span(book, (DwJournalSpan){line, line}, message);
}
