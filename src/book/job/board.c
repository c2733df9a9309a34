// SPDX-License-Identifier: MIT
#include "book/job/board.h"

#include "base/memory.h"
#include "book/store/attachment.h"
#include "book/store/private.h"

#include <stdlib.h>
#include <string.h>

static const char question[] =
    "SELECT job.id, job.number, job.state, customer.name, trim(coalesce(deck.make, '') || ' ' || coalesce(deck.model, "
    "'')), job.place, job.waiting_for, job.state_since, coalesce(job.promised_on, ''), "
    "coalesce(job.owner_told_at, ''), job.opened_at, job.priority = 'rush', "
    "EXISTS (SELECT 1 FROM verdict AS v WHERE v.job_id = job.id AND v.grade = 'unsafe' AND v.id = "
    "(SELECT max(id) FROM verdict WHERE job_id = v.job_id AND item = v.item)) "
    "FROM job JOIN customer ON customer.id = job.customer_id LEFT JOIN deck ON deck.id = job.deck_id "
    "WHERE job.state <> 'handed over' AND job.state <> 'disposed of' AND "
    "(job.state <> 'declined' OR EXISTS (SELECT 1 FROM intake WHERE job_id = job.id)) "
    "ORDER BY job.priority <> 'rush', job.state_since, job.number";

static DwBoardRow read_row(const DwQuery *query, const char *today)
{
    char since[DW_DATE_SIZE], told[DW_DATE_SIZE], opened[DW_DATE_SIZE];
    dw_moment_day(dw_query_text(query, 7), since);
    dw_moment_day(dw_query_text(query, 9), told);
    dw_moment_day(dw_query_text(query, 10), opened);
    const DwField *state = dw_field_find(&dw_job_entity, "state");
    int choice = dw_field_choice(state, dw_query_text(query, 2));
    const char *promised = dw_query_text(query, 8);
    return (DwBoardRow){
        .job_id = dw_query_integer(query, 0),
        .number = dw_query_integer(query, 1),
        .state = choice < 0 ? DW_JOB_BOOKED : (DwJobState)choice,
        .customer = dw_memory_text(dw_query_text(query, 3)),
        .deck = dw_memory_text(dw_query_text(query, 4)),
        .place = dw_memory_text(dw_query_text(query, 5)),
        .waiting_for = dw_memory_text(dw_query_text(query, 6)),
        .since = dw_memory_text(since),
        .days = dw_moment_days_between(since, today),
        .promised_on = dw_memory_text(promised),
        .overdue = *promised && strcmp(promised, today) < 0,
        .told_on = dw_memory_text(told),
        .days_untold = dw_moment_days_between(*told ? told : opened, today),
        .rush = dw_query_integer(query, 11) != 0,
        .unsafe = dw_query_integer(query, 12) != 0,
    };
}

static DwStatus count_lost(DwBook *book, DwBoardRow *row, DwMessage *message)
{
    DwAttachmentTroubles troubles;
    DwStatus status = dw_attachment_troubles(book, row->job_id, &troubles, message);
    if (status != DW_OK)
        return status;
    row->lost = troubles.count;
    dw_attachment_troubles_clear(&troubles);
    return DW_OK;
}

DwStatus dw_board_read(DwBook *book, DwBoard *board, DwMessage *message)
{
    char today[DW_DATE_SIZE];
    dw_book_today(book, today);
    DwQuery query = dw_query_begin(book, question);
    DwBoard read = {0};
    while (dw_query_step(&query)) {
        read.rows = dw_memory_resize(read.rows, read.count + 1, sizeof *read.rows);
        read.rows[read.count++] = read_row(&query, today);
    }
    DwStatus status = dw_query_end(&query, message);
    for (size_t i = 0; status == DW_OK && i < read.count; i++)
        status = count_lost(book, &read.rows[i], message);
    if (status == DW_OK)
        *board = read;
    else
        dw_board_clear(&read);
    return status;
}

void dw_board_clear(DwBoard *board)
{
    for (size_t i = 0; i < board->count; i++) {
        DwBoardRow *row = &board->rows[i];
        char *const texts[] = {row->customer, row->deck,        row->place,  row->waiting_for,
                               row->since,    row->promised_on, row->told_on};
        for (size_t t = 0; t < sizeof texts / sizeof *texts; t++)
            free(texts[t]);
    }
    free(board->rows);
    *board = (DwBoard){0};
}
