// SPDX-License-Identifier: MIT
// Taking apart two that were made one: what the merging wrote in the journal is undone, line by line, wherever it still
// stands so. What came since stays with the one that stayed; what the one that went said leaves the other's note, also
// where the note was written on.
#include "book/entry/twin.h"

#include "base/memory.h"
#include "base/text.h"
#include "base/tongue.h"
#include "book/entry/entry.h"
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
                         "The journal does not hold what is needed to separate them. Where the one that went differed "
                         "is written in the note of the one that stays.");
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
        status = dw_fail(message, DW_BAD_INPUT, "The %s, id %lld, stands in the book again.", dw_said(label),
                         (long long)merging->from);
    else if (status == DW_OK && !into)
        status = dw_fail(message, DW_BAD_INPUT, "The %s, id %lld, went too since. Undo that first.", dw_said(label),
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

// Takes the first line of TEXT that is LINE, of LENGTH, out of it.
static void cut_line(char *text, const char *line, size_t length)
{
    for (char *at = text; *at;) {
        char *end = strchrnul(at, '\n');
        if ((size_t)(end - at) == length && strncmp(at, line, length) == 0) {
            if (*end)
                memmove(at, end + 1, strlen(end + 1) + 1);
            else
                at[at > text ? -1 : 0] = '\0';
            return;
        }
        at = *end ? end + 1 : end;
    }
}

// NOW without the lines that a merging wrote under BEFORE, which made AFTER of it. The caller frees it.
static char *without(const char *now, const char *before, const char *after)
{
    char *text = dw_memory_text(now);
    size_t same = strlen(before);
    if (strncmp(before, after, same) != 0)
        return text;
    for (const char *line = after + same + (after[same] == '\n'); *line;) {
        const char *end = strchrnul(line, '\n');
        cut_line(text, line, (size_t)(end - line));
        line = *end ? end + 1 : end;
    }
    return text;
}

// What FIELD of the one that stayed says once the two are apart, and said NOW. The caller frees it.
static char *parted_text(const DwField *field, const DwJournalLine *line, const char *now)
{
    if (is(now, line->new_value))
        return dw_memory_text(line->old_value);
    // Written on since: the other's lines go, what was added stays.
    return field == dw_twin_note(dw_entity_find(line->entity)) ? without(now, line->old_value, line->new_value)
                                                               : dw_memory_text(now);
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
    char *parted = parted_text(field, line, now);
    if (status == DW_OK && !is(now, parted)) {
        status = dw_field_set(book, record, field, parted, message);
        if (status == DW_OK)
            status = dw_record_keep(book, record, message);
    }
    free(parted);
    free(now);
    dw_record_free(record);
    return status;
}

// Whether the merging wrote in the note of the one that stays.
static bool is_noted(const Merging *merging, const DwJournal *lines)
{
    const char *note = dw_twin_note(merging->entity)->key;
    for (size_t i = 0; i < lines->count; i++)
        if (lines->lines[i].row == merging->into && is(lines->lines[i].entity, merging->entity->name) &&
            is(lines->lines[i].field, note))
            return true;
    return false;
}

// What the one said is not left in what the journal notes of the other, which may be erased without it: in what the
// merging and its undoing (after the line BEFORE) wrote, and in every note between, which began with those words.
static DwStatus forget(DwBook *book, const Merging *merging, const DwJournal *lines, int64_t before, DwMessage *message)
{
    DwQuery query = dw_query_begin(
        book, "UPDATE journal SET old_value = iif(old_value = '', '', '" DW_JOURNAL_ERASED "'), new_value = "
              "iif(new_value = '', '', '" DW_JOURNAL_ERASED "') WHERE personal = 1 AND entity = ? AND row_id = ? AND "
              "id >= ? AND (id <= ? OR id > ? OR field = ?)");
    dw_query_bind_text(&query, merging->entity->name);
    dw_query_bind_integer(&query, merging->into);
    dw_query_bind_integer(&query, merging->first);
    dw_query_bind_integer(&query, merging->last);
    dw_query_bind_integer(&query, before);
    dw_query_bind_text(&query, is_noted(merging, lines) ? dw_twin_note(merging->entity)->key : "");
    return dw_query_finish(&query, message);
}

// The same of what was written in other fields between: a line that holds what the one that went says, and
// the one that stayed does not say in the same place.
static DwStatus forget_between(DwBook *book, const Merging *merging, DwMessage *message)
{
    DwRecord *from = dw_record_new(merging->entity), *into = dw_record_new(merging->entity);
    DwStatus status = dw_record_load(book, from, merging->from, message);
    if (status == DW_OK)
        status = dw_record_load(book, into, merging->into, message);
    for (size_t i = 0; status == DW_OK && i < merging->entity->field_count; i++) {
        const DwField *field = &merging->entity->fields[i];
        char *theirs = dw_record_text(book, from, field), *own = dw_record_text(book, into, field);
        if (field->personal && *theirs && !is(theirs, own))
            status = dw_journal_forget_value(book, merging->entity, merging->into, theirs, message);
        free(theirs);
        free(own);
    }
    dw_record_free(from);
    dw_record_free(into);
    return status;
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
    if (status == DW_OK)
        status = forget(book, merging, lines, before, message);
    return status == DW_OK ? forget_between(book, merging, message) : status;
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

// The line with which MERGING's undoing begins, where it was undone; else one that will never be.
static DwStatus find_parting(DwBook *book, const Merging *merging, int64_t *line, DwMessage *message)
{
    DwQuery query =
        dw_query_begin(book, "SELECT coalesce(min(id), 9223372036854775807) FROM journal WHERE entity = ? "
                             "AND row_id = ? AND field = '' AND new_value = '" DW_JOURNAL_PUT_BACK "' AND id > ?");
    dw_query_bind_text(&query, merging->entity->name);
    dw_query_bind_integer(&query, merging->from);
    dw_query_bind_integer(&query, merging->last);
    *line = dw_query_step(&query) ? dw_query_integer(&query, 0) : 0;
    return dw_query_end(&query, message);
}

// The number that SQL gives of NAME, the one that stays, and the lines between the merging and PARTED; 0 where the book
// cannot be read.
static size_t count_between(DwBook *book, const Merging *merging, int64_t parted, const char *sql, const char *name,
                            const char *field)
{
    DwQuery query = dw_query_begin(book, sql);
    dw_query_bind_text(&query, name);
    dw_query_bind_integer(&query, merging->into);
    dw_query_bind_integer(&query, merging->last);
    dw_query_bind_integer(&query, parted);
    if (field)
        dw_query_bind_text(&query, field);
    size_t count = dw_query_step(&query) ? (size_t)dw_query_integer(&query, 0) : 0;
    return dw_query_end(&query, NULL) == DW_OK ? count : 0;
}

// How many entries of OTHER came to the one that stays.
static size_t count_came(DwBook *book, const Merging *merging, int64_t parted, const DwEntity *other)
{
    const DwField *field = dw_twin_reference(other, merging->entity);
    if (!field)
        return 0;
    char *sql = dw_text_format("SELECT count(*) FROM %s WHERE id IN (SELECT row_id FROM journal WHERE entity = ?1 AND "
                               "field = '' AND new_value = 'added' AND id > ?3 AND id < ?4) AND %s = ?2",
                               other->name, field->key);
    size_t count = count_between(book, merging, parted, sql, other->name, NULL);
    free(sql);
    return count;
}

char *dw_twin_staying(DwBook *book, const DwJournalLine *line)
{
    Merging merging;
    DwText text = {0};
    int64_t parted = 0;
    bool known = find(book, line, &merging, NULL) == DW_OK && find_parting(book, &merging, &parted, NULL) == DW_OK;
    const DwEntity *other;
    for (size_t i = 0; known && (other = dw_entity_at(i)); i++) {
        size_t count = count_came(book, &merging, parted, other);
        if (count)
            dw_text_add(&text, "%s%zu %s", text.length ? ", " : "", count,
                        dw_said(count == 1 ? other->label : dw_entry_plural(other)));
    }
    for (size_t i = 0; known && i < merging.entity->field_count; i++) {
        const DwField *field = &merging.entity->fields[i];
        if (count_between(book, &merging, parted,
                          "SELECT count(*) FROM journal WHERE entity = ? AND row_id = ? AND id > ? AND id < ? AND "
                          "field = ?",
                          merging.entity->name, field->key))
            dw_text_add(&text, "%s%s", text.length ? ", " : "", dw_said(field->label));
    }
    return dw_text_take(&text);
}

DwStatus dw_twin_pair(DwBook *book, const DwJournalLine *line, int64_t *from, int64_t *into, DwMessage *message)
{
    Merging merging;
    DwStatus status = find(book, line, &merging, message);
    if (status == DW_OK) {
        *from = merging.from;
        *into = merging.into;
    }
    return status;
}
