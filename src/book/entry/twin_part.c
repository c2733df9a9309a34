// SPDX-License-Identifier: MIT
// Taking apart two that were made one: what the merging wrote in the journal is undone, line by line, wherever it still
// stands so. What came since stays with the one that stayed.
#include "book/entry/twin.h"

#include "base/memory.h"
#include "base/text.h"
#include "book/store/journal.h"
#include "book/store/private.h"

#include <stdlib.h>
#include <string.h>

// A merging in the journal: its first line is about the one that stays, its last about the one that went.
typedef struct {
    const DwEntity *entity;
    int64_t from, into, first, last;
} Merging;

static bool is(const char *text, const char *word)
{
    return strcmp(text, word) == 0;
}

static bool is_whole(const DwJournalLine *line, const char *word)
{
    return !*line->field && is(line->new_value, word);
}

bool dw_twin_is_merging(const DwJournalLine *line)
{
    return is(line->field, DW_TWIN_MERGED) ||
           (!*line->field && strncmp(line->new_value, DW_JOURNAL_MERGED, strlen(DW_JOURNAL_MERGED)) == 0);
}

// The id after the words of a merging's line.
static int64_t id_in(const char *words)
{
    const char *id = strrchr(words, ' ');
    return id ? strtoll(id + 1, NULL, 10) : 0;
}

// The line that answers to LINE at the merging's other end; 0 when the journal has none, as of earlier programs.
static DwStatus find_end(DwBook *book, const Merging *merging, bool first, int64_t line, int64_t *end,
                         DwMessage *message)
{
    char *words = dw_text_format("%s%lld", first ? DW_TWIN_WITH : DW_JOURNAL_MERGED,
                                 (long long)(first ? merging->from : merging->into));
    DwQuery query = dw_query_begin(
        book, first ? "SELECT max(id) FROM journal WHERE entity = ? AND row_id = ? AND field = ? AND new_value = ? "
                      "AND id < ?"
                    : "SELECT min(id) FROM journal WHERE entity = ? AND row_id = ? AND field = ? AND new_value = ? "
                      "AND id > ?");
    dw_query_bind_text(&query, merging->entity->name);
    dw_query_bind_integer(&query, first ? merging->into : merging->from);
    dw_query_bind_text(&query, first ? DW_TWIN_MERGED : "");
    dw_query_bind_text(&query, words);
    dw_query_bind_integer(&query, line);
    *end = dw_query_step(&query) ? dw_query_integer(&query, 0) : 0;
    free(words);
    return dw_query_end(&query, message);
}

static DwStatus find(DwBook *book, const DwJournalLine *line, Merging *merging, DwMessage *message)
{
    bool first = *line->field != '\0';
    Merging found = {.entity = dw_entity_find(line->entity), .first = line->id, .last = line->id};
    found.from = first ? id_in(line->new_value) : line->row;
    found.into = first ? line->row : id_in(line->new_value);
    DwStatus status = find_end(book, &found, !first, line->id, first ? &found.last : &found.first, message);
    if (status == DW_OK && (!found.first || !found.last || !found.from))
        status = dw_fail(message, DW_BAD_INPUT,
                         "The journal does not hold what taking them apart needs. What the one that went said "
                         "otherwise stands in the note of the one that stays.");
    *merging = found;
    return status;
}

// Whether there is a record ID of ENTITY.
static DwStatus stands(DwBook *book, const DwEntity *entity, int64_t id, bool *there, DwMessage *message)
{
    int64_t count = 0;
    char *sql = dw_text_format("SELECT count(*) FROM %s WHERE id = ?", entity->name);
    DwStatus status = dw_query_number(book, sql, id, &count, message);
    *there = count > 0;
    free(sql);
    return status;
}

static DwStatus check(DwBook *book, const Merging *merging, const DwJournal *lines, DwMessage *message)
{
    const char *label = merging->entity->label;
    bool from = false, into = false;
    DwStatus status = stands(book, merging->entity, merging->from, &from, message);
    if (status == DW_OK)
        status = stands(book, merging->entity, merging->into, &into, message);
    if (status == DW_OK && from)
        status = dw_fail(message, DW_BAD_INPUT, "The %s, id %lld, stands in the book again.", label,
                         (long long)merging->from);
    else if (status == DW_OK && !into)
        status = dw_fail(message, DW_BAD_INPUT, "The %s, id %lld, went too since. Undo that first.", label,
                         (long long)merging->into);
    for (size_t i = 0; status == DW_OK && i < lines->count; i++)
        if (is(lines->lines[i].old_value, DW_JOURNAL_ERASED))
            status = dw_fail(message, DW_BAD_INPUT, "What stood there was erased with the person it was about.");
    return status;
}

// The merging that LINE tells of, with its lines, when it can be undone as the book stands.
static DwStatus read(DwBook *book, const DwJournalLine *line, Merging *merging, DwJournal *lines, DwMessage *message)
{
    DwStatus status = find(book, line, merging, message);
    if (status == DW_OK)
        status = dw_journal_between(book, merging->first, merging->last, lines, message);
    if (status != DW_OK)
        return status;
    status = check(book, merging, lines, message);
    if (status != DW_OK)
        dw_journal_clear(lines);
    return status;
}

DwStatus dw_twin_check_part(DwBook *book, const DwJournalLine *line, DwMessage *message)
{
    Merging merging;
    DwJournal lines;
    DwStatus status = read(book, line, &merging, &lines, message);
    if (status == DW_OK)
        dw_journal_clear(&lines);
    return status;
}

// Gives back the record ROW of ENTITY with the values that LINES noted when it went.
static DwStatus give_back(DwBook *book, const DwJournal *lines, const DwEntity *entity, int64_t row, DwMessage *message)
{
    DwRecord *record = dw_record_new(entity);
    DwStatus status = DW_OK;
    for (size_t i = 0; status == DW_OK && i < lines->count; i++) {
        const DwJournalLine *line = &lines->lines[i];
        const DwField *field =
            line->row == row && is(line->entity, entity->name) ? dw_field_find(entity, line->field) : NULL;
        if (field)
            status = dw_field_set(book, record, field, line->old_value, message);
    }
    if (status == DW_OK)
        status = dw_record_put_back(book, record, row, message);
    dw_record_free(record);
    return status;
}

// Whether LINE says that its record went, or a value with which it went.
static bool is_of_removal(const DwJournal *lines, const DwJournalLine *line)
{
    for (size_t i = 0; i < lines->count; i++)
        if (lines->lines[i].row == line->row && is_whole(&lines->lines[i], DW_JOURNAL_REMOVED) &&
            is(lines->lines[i].entity, line->entity))
            return true;
    return false;
}

// Gives a field back what stood there before, where it still says what the merging put there.
static DwStatus turn_back(DwBook *book, const DwJournalLine *line, DwMessage *message)
{
    const DwEntity *entity = dw_entity_find(line->entity);
    const DwField *field = entity ? dw_field_find(entity, line->field) : NULL;
    bool there = false;
    DwStatus status = field ? stands(book, entity, line->row, &there, message) : DW_OK;
    if (status != DW_OK || !there)
        return status;
    DwRecord *record = dw_record_new(entity);
    status = dw_record_load(book, record, line->row, message);
    char *now = dw_record_text(book, record, field);
    if (status == DW_OK && is(now, line->new_value)) {
        status = dw_field_set(book, record, field, line->old_value, message);
        if (status == DW_OK)
            status = dw_record_keep(book, record, message);
    }
    free(now);
    dw_record_free(record);
    return status;
}

// What the one said is not left in what the journal notes of the other, which may be erased without it.
static DwStatus forget(DwBook *book, const Merging *merging, int64_t before, DwMessage *message)
{
    DwQuery query = dw_query_begin(
        book, "UPDATE journal SET old_value = iif(old_value = '', '', '" DW_JOURNAL_ERASED "'), new_value = "
              "iif(new_value = '', '', '" DW_JOURNAL_ERASED "') WHERE personal = 1 AND entity = ? AND row_id = ? AND "
              "(id BETWEEN ? AND ? OR id > ?)");
    dw_query_bind_text(&query, merging->entity->name);
    dw_query_bind_integer(&query, merging->into);
    dw_query_bind_integer(&query, merging->first);
    dw_query_bind_integer(&query, merging->last);
    dw_query_bind_integer(&query, before);
    return dw_query_finish(&query, message);
}

static DwStatus part(DwBook *book, const Merging *merging, const DwJournal *lines, DwMessage *message)
{
    int64_t before = 0;
    DwStatus status = dw_journal_newest(book, &before, message);
    // The one that went first: the others refer to it.
    if (status == DW_OK)
        status = give_back(book, lines, merging->entity, merging->from, message);
    for (size_t i = lines->count; status == DW_OK && i > 0; i--) {
        const DwJournalLine *line = &lines->lines[i - 1];
        bool own = line->row == merging->from && is(line->entity, merging->entity->name);
        if (!own && is_whole(line, DW_JOURNAL_REMOVED))
            status = give_back(book, lines, dw_entity_find(line->entity), line->row, message);
        else if (!own && *line->field && !is_of_removal(lines, line))
            status = turn_back(book, line, message);
    }
    char *words = dw_text_format(DW_TWIN_WITH "%lld", (long long)merging->from);
    if (status == DW_OK)
        status = dw_journal_add(book, merging->entity->name, merging->into, DW_TWIN_MERGED, words, "", false, message);
    free(words);
    return status == DW_OK ? forget(book, merging, before, message) : status;
}

DwStatus dw_twin_part(DwBook *book, const DwJournalLine *line, DwMessage *message)
{
    Merging merging;
    DwJournal lines;
    DwStatus status = dw_book_begin(book, message);
    if (status != DW_OK)
        return status;
    status = read(book, line, &merging, &lines, message);
    if (status == DW_OK) {
        status = part(book, &merging, &lines, message);
        dw_journal_clear(&lines);
    }
    return dw_book_end(book, status, message);
}
