// SPDX-License-Identifier: MIT
#include "book/entry/job_numbers.h"

#include "base/memory.h"
#include "book/store/private.h"

#include <stdlib.h>

#define STANDING "job_id = ?1 AND withdrawn_at IS NULL"

static const struct {
    size_t offset;
    const char *sql;
} counts[] = {
    {offsetof(DwJobNumbers, accessories), "SELECT count(*) FROM accessory WHERE received = 1 AND intake_id IN "
                                          "(SELECT id FROM intake WHERE job_id = ?1)"},
    {offsetof(DwJobNumbers, marks), "SELECT count(*) FROM mark WHERE intake_id IN (SELECT id FROM intake WHERE "
                                    "job_id = ?1)"},
    {offsetof(DwJobNumbers, photos),
     "SELECT count(*) FROM attachment WHERE job_id = ?1 AND kind IN ('photo', 'stylus image', 'packaging')"},
    {offsetof(DwJobNumbers, findings), "SELECT count(*) FROM finding WHERE job_id = ?1"},
    {offsetof(DwJobNumbers, verdicts), "SELECT count(DISTINCT item) FROM verdict WHERE job_id = ?1"},
    {offsetof(DwJobNumbers, operations), "SELECT count(*) FROM operation WHERE job_id = ?1"},
    {offsetof(DwJobNumbers, operations_open),
     "SELECT count(*) FROM operation WHERE job_id = ?1 AND actual_minutes = 0 AND done_at IS NULL"},
    {offsetof(DwJobNumbers, next_operation_id),
     "SELECT id FROM operation WHERE job_id = ?1 AND actual_minutes = 0 AND done_at IS NULL ORDER BY id LIMIT 1"},
    {offsetof(DwJobNumbers, settings),
     "SELECT count(DISTINCT key) FROM set_up WHERE job_id = ?1 AND phase = 'as left'"},
    {offsetof(DwJobNumbers, estimate_id), "SELECT id FROM estimate WHERE job_id = ?1 ORDER BY version DESC LIMIT 1"},
    {offsetof(DwJobNumbers, estimate_lines), "SELECT count(*) FROM estimate_line WHERE estimate_id = (SELECT id FROM "
                                             "estimate WHERE job_id = ?1 ORDER BY version DESC LIMIT 1)"},
    {offsetof(DwJobNumbers, invoice_id),
     "SELECT id FROM invoice WHERE job_id = ?1 AND kind = 'invoice' ORDER BY id DESC LIMIT 1"},
};

static const struct {
    size_t offset;
    const char *sql;
} texts[] = {
    {offsetof(DwJobNumbers, found), "SELECT group_concat(said, ', ') FROM (SELECT coalesce(nullif(cause, ''), symptom) "
                                    "AS said FROM finding WHERE job_id = ?1 ORDER BY id LIMIT 3)"},
    {offsetof(DwJobNumbers, judged),
     "SELECT group_concat(item, ', ') FROM (SELECT item FROM verdict AS v WHERE job_id = ?1 AND aspect = 'use' AND id "
     "= "
     "(SELECT max(id) FROM verdict WHERE job_id = ?1 AND item = v.item) ORDER BY id LIMIT 3)"},
    {offsetof(DwJobNumbers, next_operation),
     "SELECT name FROM operation WHERE job_id = ?1 AND actual_minutes = 0 AND done_at IS NULL ORDER BY id LIMIT 1"},
};

static DwStatus read_counts(DwBook *book, int64_t job, DwJobNumbers *numbers, DwMessage *message)
{
    DwStatus status = DW_OK;
    for (size_t i = 0; status == DW_OK && i < sizeof counts / sizeof *counts; i++)
        status = dw_query_number(book, counts[i].sql, job, (int64_t *)((char *)numbers + counts[i].offset), message);
    int64_t draft = 0;
    if (status == DW_OK)
        status = dw_query_number(book, "SELECT state = 'draft' FROM invoice WHERE id = ?1", numbers->invoice_id, &draft,
                                 message);
    numbers->invoice_draft = draft != 0;
    return status;
}

static DwStatus read_texts(DwBook *book, int64_t job, DwJobNumbers *numbers, DwMessage *message)
{
    DwStatus status = DW_OK;
    for (size_t i = 0; status == DW_OK && i < sizeof texts / sizeof *texts; i++) {
        DwQuery query = dw_query_begin(book, texts[i].sql);
        dw_query_bind_integer(&query, job);
        char **place = (char **)((char *)numbers + texts[i].offset);
        *place = dw_memory_text(dw_query_step(&query) ? dw_query_text(&query, 0) : "");
        status = dw_query_end(&query, message);
    }
    return status;
}

// Two readings of each sheet, those that were judged first, the speed before all.
static DwStatus read_row(DwBook *book, int64_t job, const char *phase, DwJobNumberRow *row, DwMessage *message)
{
    DwQuery query = dw_query_begin(
        book, "SELECT label, value, word, unit, digits, key LIKE '%error' FROM (SELECT r.*, m.procedure, r.grade NOT "
              "IN ('none', '') AS "
              "judged, row_number() OVER (PARTITION BY m.id ORDER BY r.key = 'speed.error' DESC, r.key = "
              "'flutter.weighted.two_sigma' DESC, r.grade NOT IN ('none', '') DESC, r.id) AS place FROM measurement AS "
              "m JOIN reading AS r ON r.measurement_id = m.id WHERE m." STANDING
              " AND phase = ?2 AND r.key NOT LIKE 'tone.%') WHERE place <= 2 ORDER BY procedure = 'speed' DESC, judged "
              "DESC, measurement_id, place LIMIT 3");
    dw_query_bind_integer(&query, job);
    dw_query_bind_text(&query, phase);
    while (row->count < DW_JOB_NUMBERS_MOST && dw_query_step(&query))
        row->readings[row->count++] = (DwJobNumber){.label = dw_memory_text(dw_query_text(&query, 0)),
                                                    .value = dw_query_real(&query, 1),
                                                    .word = dw_memory_text(dw_query_text(&query, 2)),
                                                    .unit = dw_memory_text(dw_query_text(&query, 3)),
                                                    .digits = dw_query_integer(&query, 4),
                                                    .error = dw_query_integer(&query, 5) != 0};
    return dw_query_end(&query, message);
}

// What was measured as received, by hand or not, and has no sheet of its procedure and speed as left.
static DwStatus read_repeat(DwBook *book, int64_t job, DwJobNumbers *numbers, DwMessage *message)
{
    DwQuery query = dw_query_begin(
        book,
        "SELECT id, title, procedure, test_record, chain, at FROM measurement AS m WHERE " STANDING
        " AND phase = 'as received' AND procedure <> 'hand' AND NOT EXISTS (SELECT 1 FROM measurement WHERE " STANDING
        " AND phase = 'as left' AND procedure = m.procedure AND speed IS m.speed) ORDER BY id LIMIT 1");
    dw_query_bind_integer(&query, job);
    char **const places[] = {&numbers->repeat_title, &numbers->repeat_procedure, &numbers->repeat_record,
                             &numbers->repeat_chain, &numbers->repeat_at};
    bool found = dw_query_step(&query);
    numbers->repeat_id = found ? dw_query_integer(&query, 0) : 0;
    for (int i = 0; i < 5; i++)
        *places[i] = dw_memory_text(found ? dw_query_text(&query, i + 1) : "");
    return dw_query_end(&query, message);
}

DwStatus dw_job_numbers_read(DwBook *book, int64_t job, DwJobNumbers *numbers, DwMessage *message)
{
    *numbers = (DwJobNumbers){0};
    DwStatus status = read_counts(book, job, numbers, message);
    if (status == DW_OK)
        status = read_texts(book, job, numbers, message);
    if (status == DW_OK)
        status = read_row(book, job, "as received", &numbers->received, message);
    if (status == DW_OK)
        status = read_row(book, job, "as left", &numbers->left, message);
    return status == DW_OK ? read_repeat(book, job, numbers, message) : status;
}

static void clear_row(DwJobNumberRow *row)
{
    for (size_t i = 0; i < row->count; i++) {
        free(row->readings[i].label);
        free(row->readings[i].word);
        free(row->readings[i].unit);
    }
}

void dw_job_numbers_clear(DwJobNumbers *numbers)
{
    clear_row(&numbers->received);
    clear_row(&numbers->left);
    free(numbers->found);
    free(numbers->judged);
    free(numbers->next_operation);
    free(numbers->repeat_title);
    free(numbers->repeat_procedure);
    free(numbers->repeat_record);
    free(numbers->repeat_chain);
    free(numbers->repeat_at);
    *numbers = (DwJobNumbers){0};
}
