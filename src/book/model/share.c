// SPDX-License-Identifier: MIT
// Writing a model for another shop.
#include "book/model/share.h"

#include "base/memory.h"
#include "base/text.h"
#include "book/model/known.h"
#include "book/shop/settings.h"
#include "book/store/bound.h"
#include "book/store/private.h"

#include <math.h>
#include <sodium.h>
#include <stdlib.h>
#include <string.h>

// Below what a line of a key file may hold, with its key.
enum { LINE_BYTES = 140, MARK_BYTES = 8 };

char *dw_share_mark(DwBook *book)
{
    unsigned char hash[crypto_hash_sha256_BYTES];
    char mark[2 * MARK_BYTES + 1];
    DwQuery query = dw_query_begin(book, "SELECT value FROM identity");
    const char *identity = dw_query_step(&query) ? dw_query_text(&query, 0) : "";
    char *said = dw_text_format("model %s", identity);
    dw_query_end(&query, NULL);
    crypto_hash_sha256(hash, (const unsigned char *)said, strlen(said));
    sodium_bin2hex(mark, sizeof mark, hash, MARK_BYTES);
    free(said);
    return dw_memory_text(mark);
}

// One letter of a value; what the reader of key files would take off or for a remark is written as a word.
static char *written_letter(const char *at, size_t length, bool edge)
{
    switch (*at) {
    case '\\':
        return dw_memory_text("\\\\");
    case '\n':
        return dw_memory_text("\\n");
    case '\r':
        return dw_memory_text("\\r");
    case '\t':
        return dw_memory_text("\\t");
    case ';':
        return dw_memory_text("\\:");
    case ' ':
        return dw_memory_text(edge ? "\\_" : " ");
    default:
        return dw_text_format("%.*s", (int)length, at);
    }
}

static void add_line(DwText *text, const char *key, const char *value)
{
    DwText line = {0};
    for (const char *at = value; *at;) {
        size_t length = dw_text_letter(at);
        length = length ? length : 1;
        bool full = line.length >= LINE_BYTES;
        if (full) {
            dw_text_add(text, "%s = %s\\\n", key, line.chars);
            dw_text_clear(&line);
        }
        // A blank at the edge of a line would be taken off.
        bool edge = !line.length || !at[length] || line.length + 2 >= LINE_BYTES;
        char *letter = written_letter(at, length, edge);
        dw_text_add(&line, "%s", letter);
        free(letter);
        at += length;
    }
    dw_text_add(text, "%s = %s\n", key, line.chars ? line.chars : "");
    dw_text_clear(&line);
}

static void add_if_said(DwText *text, const char *key, const char *value)
{
    if (value && *value)
        add_line(text, key, value);
}

static void add_real(DwText *text, const char *key, double value)
{
    if (isfinite(value))
        dw_text_add(text, "%s = %.10g\n", key, value);
}

static void write_model(DwBook *book, const DwModel *model, DwText *text)
{
    char *shop = dw_settings_text(book, "shop.name"), *mark = dw_share_mark(book), today[DW_DATE_SIZE];
    dw_book_today(book, today);
    dw_text_add(text,
                "# What a shop knows of a model of deck. 'deckwright model import FILE' takes it into a job book.\n"
                "[model]\nformat = %d\n",
                DW_SHARE_FORMAT);
    for (size_t i = 0; i < dw_model_entity.field_count; i++) {
        char *value = dw_record_text(book, &model->record, &dw_model_entity.fields[i]);
        if (strcmp(value, "unknown") != 0)
            add_if_said(text, dw_model_entity.fields[i].key, value);
        free(value);
    }
    add_if_said(text, "shop", shop);
    dw_text_add(text, "book = %s\nwritten = %s\n", mark, today);
    free(shop);
    free(mark);
}

// Whether a better one of the same KEY stands before INDEX: what is noted stands before what was measured.
static bool is_second(const DwModelKnowns *knowns, size_t index)
{
    const DwModelKnown *known = &knowns->items[index];
    for (size_t i = 0; i < index; i++)
        if (knowns->items[i].about == known->about && strcmp(knowns->items[i].key, known->key) == 0 &&
            strcmp(knowns->items[i].unit, known->unit) == 0)
            return true;
    return false;
}

static DwStatus write_knowns(DwBook *book, int64_t model, DwText *text, DwMessage *message)
{
    DwModelKnowns knowns;
    DwStatus status = dw_model_known_read(book, model, &knowns, message);
    if (status != DW_OK)
        return status;
    for (size_t i = 0; i < knowns.count; i++) {
        const DwModelKnown *known = &knowns.items[i];
        bool reading = known->about == DW_MODEL_READING;
        if (known->origin == DW_MODEL_SHARED || (!reading && is_second(&knowns, i)))
            continue;
        dw_text_add(text, "\n[%s %s]\n", reading ? "reading" : "build", known->key);
        if (reading)
            add_line(text, "label", known->label);
        add_line(text, "value", known->value);
        if (known->decks)
            dw_text_add(text, "decks = %zu\n", known->decks);
        add_real(text, "low", known->low);
        add_real(text, "high", known->high);
        add_if_said(text, "unit", known->unit);
        add_if_said(text, "source", known->source);
    }
    dw_model_knowns_clear(&knowns);
    return DW_OK;
}

static DwStatus write_faults(DwBook *book, int64_t model, DwText *text, DwMessage *message)
{
    DwRecords records;
    DwStatus status = dw_record_select(book, &dw_model_fault_entity,
                                       "WHERE model_id = ? AND shared_by = '' ORDER BY id", model, &records, message);
    if (status != DW_OK)
        return status;
    for (size_t i = 0; i < records.count; i++) {
        const DwModelFault *fault = (const DwModelFault *)dw_records_at(&records, i);
        dw_text_add(text, "\n[fault %zu]\n", i + 1);
        add_line(text, "fault", fault->fault);
        add_if_said(text, "remedy", fault->remedy);
        if (fault->seen)
            dw_text_add(text, "seen = %lld\n", (long long)fault->seen);
    }
    dw_records_clear(&records);
    return DW_OK;
}

static DwStatus write_limits(DwBook *book, int64_t model, DwText *text, DwMessage *message)
{
    DwRecords records;
    DwStatus status = dw_model_limits(book, model, &records, message);
    if (status != DW_OK)
        return status;
    for (size_t i = 0; i < records.count; i++) {
        const DwBound *bound = (const DwBound *)dw_records_at(&records, i);
        dw_text_add(text, "\n[limit %s]\n", bound->key);
        add_real(text, "low", bound->low);
        add_real(text, "high", bound->high);
        add_real(text, "good_low", bound->good_low);
        add_real(text, "good_high", bound->good_high);
        add_if_said(text, "source", bound->source);
    }
    dw_records_clear(&records);
    return DW_OK;
}

DwStatus dw_share_write(DwBook *book, int64_t id, char **text, DwMessage *message)
{
    DwModel model;
    DwText written = {0};
    dw_record_init(&model.record, &dw_model_entity);
    DwStatus status = dw_record_load(book, &model.record, id, message);
    if (status == DW_OK)
        write_model(book, &model, &written);
    if (status == DW_OK)
        status = write_knowns(book, id, &written, message);
    if (status == DW_OK)
        status = write_faults(book, id, &written, message);
    if (status == DW_OK)
        status = write_limits(book, id, &written, message);
    dw_record_clear(&model.record);
    if (status == DW_OK)
        *text = dw_text_take(&written);
    dw_text_clear(&written);
    return status;
}
