// SPDX-License-Identifier: MIT
// Every kind of record that the book keeps: listed, shown, added, changed, taken out, and what was done undone.
#include "cli/book_entry.h"

#include "base/memory.h"
#include "base/text.h"
#include "book/entry/entry.h"
#include "book/entry/twin.h"
#include "book/money/invoice.h"
#include "book/shop/stock.h"
#include "cli/tell.h"

#include <stdlib.h>
#include <string.h>

// The kind that the call's first word names ('-' may stand for '_'); NULL with the message set when there is none.
static const DwEntity *find_kind(const DwBookCall *call, DwMessage *message)
{
    char *name = dw_memory_text(call->words[0]);
    for (char *at = name; *at; at++)
        *at = *at == '-' ? '_' : *at;
    const DwEntity *entity = dw_entity_find(name);
    free(name);
    if (!entity)
        dw_fail(message, DW_BAD_INPUT, "\"%s\" is no kind of entry. 'deckwright book kinds' lists them.",
                call->words[0]);
    return entity;
}

// The record that the call's second word names: a job by its number, a stock item by its own, an invoice by id or
// number, all else by id. The caller clears and frees it.
static DwStatus find_record(DwBookCall *call, DwRecord **record, DwMessage *message)
{
    const DwEntity *entity = find_kind(call, message);
    if (!entity)
        return DW_BAD_INPUT;
    DwRecord *found = dw_record_new(entity);
    int64_t id = 0;
    DwStatus status = DW_OK;
    if (entity == &dw_job_entity)
        status = dw_job_find(call->book, call->words[1], (DwJob *)found, message);
    else if (entity == &dw_invoice_entity)
        status = dw_invoice_find(call->book, call->words[1], (DwInvoice *)found, message);
    else if (entity == &dw_stock_entity)
        status = dw_record_find(call->book, found, "number", call->words[1], message);
    else {
        status = dw_book_call_number(call->words[1], &id, message);
        if (status == DW_OK)
            status = dw_record_load(call->book, found, id, message);
    }
    if (status == DW_OK)
        *record = found;
    else
        free(found);
    return status;
}

DwStatus dw_book_entry_kinds(DwBookCall *call, DwMessage *message)
{
    const DwEntity *entity;
    (void)call;
    (void)message;
    for (size_t i = 0; (entity = dw_entity_at(i)); i++) {
        printf("  %-18s ", entity->name);
        dw_tell_padded(stdout, dw_said(dw_entry_plural(entity)), 26);
        printf(" %s%s\n", dw_entry_is_added(entity) ? dw_said("added") : "",
               dw_entry_is_removed(entity) ? dw_said(", removed") : "");
    }
    return DW_OK;
}

DwStatus dw_book_entry_list(DwBookCall *call, DwMessage *message)
{
    const DwEntity *entity = find_kind(call, message);
    DwRecords records;
    DwStatus status = entity ? dw_record_list(call->book, entity, NULL, 0, &records, message) : DW_BAD_INPUT;
    if (status != DW_OK)
        return status;
    if (call->json)
        dw_book_call_print_all(call, &records);
    for (size_t i = 0; !call->json && i < records.count; i++) {
        char *title = dw_entry_title(call->book, dw_records_at(&records, i));
        for (char *at = title; (at = strpbrk(at, "\r\n")); at++)
            *at = ' ';
        char *more = dw_book_call_more(call, dw_records_at(&records, i), true);
        dw_tell(stdout, "id %-5lld %s%s\n", (long long)dw_records_at(&records, i)->id, title, more);
        free(more);
        free(title);
    }
    if (!call->json && !records.count)
        dw_tell(stdout, "The book has no %s.\n", dw_said(entity->label));
    dw_records_clear(&records);
    return DW_OK;
}

DwStatus dw_book_entry_show(DwBookCall *call, DwMessage *message)
{
    DwRecord *record;
    DwStatus status = find_record(call, &record, message);
    if (status != DW_OK)
        return status;
    dw_book_call_print(call, record);
    dw_record_free(record);
    return DW_OK;
}

DwStatus dw_book_entry_add(DwBookCall *call, DwMessage *message)
{
    const DwEntity *entity = find_kind(call, message);
    if (!entity)
        return DW_BAD_INPUT;
    if (!dw_entry_is_added(entity))
        return dw_fail(message, DW_BAD_INPUT, "A %s is not typed in: it follows from what is done.",
                       dw_said(entity->label));
    DwRecord *record = dw_record_new(entity);
    DwStatus status = dw_book_call_add(call, record, message);
    free(record);
    return status;
}

// Refuses what the operands may not change of ENTITY.
static DwStatus check_changed(const DwBookCall *call, const DwEntity *entity, DwMessage *message)
{
    for (size_t i = 0; i < call->operand_count; i++) {
        char *key = dw_text_format("%.*s", (int)strcspn(call->operands[i], "="), call->operands[i]);
        const DwField *field = dw_field_find(entity, key);
        bool fixed = field && !dw_entry_is_changed(entity, field);
        DwStatus status = fixed ? dw_fail(message, DW_BAD_INPUT, "%s of a %s is not changed by typing.",
                                          dw_said(field->label), dw_said(entity->label))
                                : DW_OK;
        free(key);
        if (status != DW_OK)
            return status;
    }
    return call->operand_count ? DW_OK
                               : dw_fail(message, DW_BAD_INPUT,
                                         "Give what is to be changed: key=value. 'deckwright book "
                                         "fields %s' lists the keys.",
                                         entity->name);
}

DwStatus dw_book_entry_change(DwBookCall *call, DwMessage *message)
{
    DwRecord *record;
    DwJournalSpan span = {0};
    DwStatus status = find_record(call, &record, message);
    if (status != DW_OK)
        return status;
    status = check_changed(call, record->entity, message);
    if (status == DW_OK)
        status = dw_book_call_set(call, record, message);
    if (status == DW_OK)
        status = dw_entry_change(call->book, record, &span, message);
    if (status == DW_OK && call->json)
        dw_book_call_print(call, record);
    else if (status == DW_OK && !span.first)
        dw_tell(stdout, "Nothing differs; the %s stays as it is.\n", dw_said(record->entity->label));
    else if (status == DW_OK)
        dw_tell(stdout, "The %s, id %lld, is changed. 'deckwright book undo %lld %lld' takes it back.\n",
                dw_said(record->entity->label), (long long)record->id, (long long)span.first, (long long)span.last);
    dw_record_free(record);
    return status;
}

DwStatus dw_book_entry_remove(DwBookCall *call, DwMessage *message)
{
    DwRecord *record;
    int64_t before = 0;
    DwJournalSpan span = {0};
    DwStatus status = find_record(call, &record, message);
    if (status != DW_OK)
        return status;
    const DwEntity *entity = record->entity;
    int64_t id = record->id;
    status = dw_journal_newest(call->book, &before, message);
    if (status == DW_OK)
        status = dw_entry_remove(call->book, record, message);
    if (status == DW_OK)
        status = dw_journal_since(call->book, before, entity->name, id, &span, message);
    if (status == DW_OK)
        dw_tell(stdout,
                "The %s, id %lld, is taken out. The journal keeps what it said, from line %lld: 'deckwright book undo "
                "%lld' "
                "puts it back where that can be.\n",
                dw_said(entity->label), (long long)id, (long long)span.first, (long long)span.first);
    dw_record_free(record);
    return status;
}

DwStatus dw_book_entry_merge(DwBookCall *call, DwMessage *message)
{
    const DwEntity *entity = find_kind(call, message);
    int64_t from = 0, into = 0, line = 0;
    DwStatus status = entity ? dw_book_call_number(call->words[1], &from, message) : DW_BAD_INPUT;
    if (status == DW_OK)
        status = dw_book_call_number(call->words[2], &into, message);
    if (status == DW_OK)
        status = dw_twin_merge(call->book, entity, from, into, message);
    if (status == DW_OK)
        status = dw_journal_newest(call->book, &line, message);
    if (status == DW_OK)
        dw_tell(
            stdout,
            "The %s, id %lld, is one with id %lld now. What it said otherwise is in the note. 'deckwright book undo "
            "%lld' takes them apart again.\n",
            dw_said(entity->label), (long long)from, (long long)into, (long long)line);
    return status;
}

// Says of a merging, LINE, that was undone who is back and what the other keeps.
static void print_parted(DwBook *book, const DwJournalLine *line)
{
    int64_t from = 0, into = 0;
    if (dw_twin_pair(book, line, &from, &into, NULL) != DW_OK)
        return;
    char *staying = dw_twin_staying(book, line);
    dw_tell(stdout, "The %s, id %lld, stands in the book again with what was its own.\n", dw_said(line->entity),
            (long long)from);
    if (*staying)
        dw_tell(stdout, "Id %lld keeps what was added or changed since: %s. Check which of the two it belongs to.\n",
                (long long)into, staying);
    free(staying);
}

DwStatus dw_book_entry_undo(DwBookCall *call, DwMessage *message)
{
    DwJournalSpan span = {0};
    DwStatus status = dw_book_call_number(call->words[0], &span.first, message);
    span.last = span.first;
    if (status == DW_OK && call->word_count > 1)
        status = dw_book_call_number(call->words[1], &span.last, message);
    if (status == DW_OK)
        status = dw_journal_undo_span(call->book, span, message);
    if (status != DW_OK)
        return status;
    dw_tell(stdout, "It is undone; the journal keeps both.\n");
    DwJournal journal = {0};
    if (dw_journal_line(call->book, span.first, &journal, NULL) == DW_OK && dw_twin_is_merging(&journal.lines[0]))
        print_parted(call->book, &journal.lines[0]);
    dw_journal_clear(&journal);
    return DW_OK;
}

DwStatus dw_book_entry_fields(DwBookCall *call, DwMessage *message)
{
    const DwEntity *entity = find_kind(call, message);
    if (!entity)
        return DW_BAD_INPUT;
    dw_book_call_print_fields(entity);
    return DW_OK;
}
