// SPDX-License-Identifier: MIT
#include "book/care/erase.h"

#include "base/memory.h"
#include "base/text.h"
#include "book/money/invoice.h"
#include "book/store/journal.h"
#include "book/store/private.h"

#include <stdlib.h>
#include <string.h>

// Something that the erased customer said, as it was typed.
typedef struct {
    const DwCustomer *gone;
    const DwField *what;
    const char *value;
} Trace;

// A value long enough to be nobody else's by chance: of a name both names.
static bool is_telling(const DwField *what, const char *value)
{
    enum { LEAST = 6 };
    bool name = strcmp(what->key, "name") == 0;
    return strcmp(value, DW_JOURNAL_ERASED) != 0 && strlen(value) >= LEAST && (!name || strchr(value, ' '));
}

static void add(DwErasure *erasure, const Trace *trace, const DwEntity *entity, int64_t id, const DwField *field,
                bool erased)
{
    erasure->traces = dw_memory_resize(erasure->traces, erasure->trace_count + 1, sizeof *erasure->traces);
    erasure->traces[erasure->trace_count++] = (DwErasureTrace){entity, id, field, trace->what, erased};
}

// Another customer has the same telephone, email, address or name: it is theirs as well.
static DwStatus is_shared(DwBook *book, const Trace *trace, bool *shared, DwMessage *message)
{
    char *sql = dw_text_format("SELECT count(*) FROM customer WHERE id <> ? AND lower(trim(%s)) = lower(trim(?))",
                               trace->what->key);
    DwQuery query = dw_query_begin(book, sql);
    dw_query_bind_integer(&query, trace->gone->record.id);
    dw_query_bind_text(&query, trace->value);
    *shared = dw_query_step(&query) && dw_query_integer(&query, 0) > 0;
    free(sql);
    return dw_query_end(&query, message);
}

// What stays with its deck or with the law: told elsewhere, or meant to stay.
static bool is_looked_at(const DwEntity *entity, const DwField *field, const Trace *trace)
{
    bool own_place = entity == &dw_customer_entity && field == trace->what;
    bool kept_by_law = entity == &dw_invoice_entity && field->personal;
    return dw_field_is_text(field) && (field->kind == DW_FIELD_TEXT) && !field->secret && !own_place && !kept_by_law;
}

// Takes the value out of FIELD of customer ID, as often as it stands there.
static DwStatus take_out(DwBook *book, const Trace *trace, const DwField *field, int64_t id, DwMessage *message)
{
    const char *key = field->key;
    DwStatus status = DW_OK;
    int64_t before = 0, after = 1;
    static const char count[] = "SELECT revision FROM customer WHERE id = ?";
    char *sql = dw_text_format("UPDATE customer SET %s = substr(%s, 1, instr(lower(%s), lower(?1)) - 1) || "
                               "'" DW_JOURNAL_ERASED "' || substr(%s, instr(lower(%s), lower(?1)) + length(?1)), "
                               "revision = revision + 1 WHERE instr(lower(%s), lower(?1)) AND id = ?2",
                               key, key, key, key, key, key);
    while (status == DW_OK && before != after) {
        status = dw_query_number(book, count, id, &before, message);
        DwQuery query = dw_query_begin(book, sql);
        dw_query_bind_text(&query, trace->value);
        dw_query_bind_integer(&query, id);
        if (status == DW_OK)
            status = dw_query_finish(&query, message);
        else
            dw_query_end(&query, NULL);
        if (status == DW_OK)
            status = dw_query_number(book, count, id, &after, message);
    }
    free(sql);
    if (status == DW_OK)
        status =
            dw_journal_add(book, dw_customer_entity.name, id, key, DW_JOURNAL_ERASED, DW_JOURNAL_ERASED, true, message);
    return status;
}

// What QUERY gives, and its end. The caller frees *IDS with free().
static DwStatus gather(DwQuery *query, int64_t **ids, size_t *count, DwMessage *message)
{
    while (dw_query_step(query)) {
        *ids = dw_memory_resize(*ids, *count + 1, sizeof **ids);
        (*ids)[(*count)++] = dw_query_integer(query, 0);
    }
    return dw_query_end(query, message);
}

// The records of ENTITY whose FIELD holds the value.
static DwStatus look_in(DwBook *book, const Trace *trace, const DwEntity *entity, const DwField *field,
                        DwErasure *erasure, DwMessage *message)
{
    int64_t *ids = NULL;
    size_t count = 0;
    bool erased = entity == &dw_customer_entity && field->personal && strcmp(trace->what->key, "name") != 0;
    char *sql =
        dw_text_format("SELECT id FROM %s WHERE instr(lower(%s), lower(?)) ORDER BY id", entity->name, field->key);
    DwQuery query = dw_query_begin(book, sql);
    dw_query_bind_text(&query, trace->value);
    DwStatus status = gather(&query, &ids, &count, message);
    for (size_t i = 0; status == DW_OK && i < count; i++) {
        if (erased)
            status = take_out(book, trace, field, ids[i], message);
        add(erasure, trace, entity, ids[i], field, erased);
    }
    free(sql);
    free(ids);
    return status;
}

// The journal of every other customer forgets it.
static DwStatus forget(DwBook *book, const Trace *trace, DwMessage *message)
{
    int64_t *ids = NULL;
    size_t count = 0;
    DwQuery query = dw_query_begin(book, "SELECT DISTINCT row_id FROM journal WHERE personal = 1 AND entity = "
                                         "'customer' AND (instr(lower(old_value), lower(?1)) OR "
                                         "instr(lower(new_value), lower(?1)))");
    dw_query_bind_text(&query, trace->value);
    DwStatus status = gather(&query, &ids, &count, message);
    for (size_t i = 0; status == DW_OK && i < count; i++)
        status = dw_journal_forget_value(book, &dw_customer_entity, ids[i], trace->value, message);
    free(ids);
    return status;
}

static DwStatus look_everywhere(DwBook *book, const Trace *trace, DwErasure *erasure, DwMessage *message)
{
    DwStatus status = DW_OK;
    const DwEntity *entity;
    for (size_t e = 0; status == DW_OK && (entity = dw_entity_at(e)); e++)
        for (size_t i = 0; status == DW_OK && i < entity->field_count; i++)
            if (is_looked_at(entity, &entity->fields[i], trace))
                status = look_in(book, trace, entity, &entity->fields[i], erasure, message);
    if (status == DW_OK && strcmp(trace->what->key, "name") != 0)
        status = forget(book, trace, message);
    return status;
}

DwStatus dw_erase_traces(DwBook *book, const DwCustomer *gone, DwErasure *erasure, DwMessage *message)
{
    static const char *const told[] = {"email", "phone", "address", "name"};
    DwStatus status = DW_OK;
    for (size_t i = 0; status == DW_OK && i < sizeof told / sizeof *told; i++) {
        const DwField *what = dw_field_find(&dw_customer_entity, told[i]);
        char *value = dw_record_text(book, &gone->record, what);
        Trace trace = {gone, what, value};
        bool shared = true;
        if (is_telling(what, value))
            status = is_shared(book, &trace, &shared, message);
        if (status == DW_OK && !shared)
            status = look_everywhere(book, &trace, erasure, message);
        free(value);
    }
    return status;
}
