// SPDX-License-Identifier: MIT
#include "base/memory.h"
#include "book/store/private.h"
#include "book/shop/stock.h"
#include "book/store/words.h"
#include "book/job/work.h"

#include <math.h>
#include <stdlib.h>

static const DwField operation_fields[] = {
    {"job_id", "Job", DW_FIELD_REFERENCE, offsetof(DwOperation, job_id), .refers = "job", .required = true},
    {"name", "Work step", DW_FIELD_TEXT, offsetof(DwOperation, name), .required = true},
    {"quoted_minutes", "Minutes quoted", DW_FIELD_INTEGER, offsetof(DwOperation, quoted_minutes), .high = 100000},
    {"actual_minutes", "Minutes taken", DW_FIELD_INTEGER, offsetof(DwOperation, actual_minutes), .high = 100000},
    {"done_at", "Done", DW_FIELD_MOMENT, offsetof(DwOperation, done_at)},
    {"who", "By", DW_FIELD_TEXT, offsetof(DwOperation, who)},
    {"note", "Note", DW_FIELD_TEXT, offsetof(DwOperation, note), .lines = true},
    {"estimate_line_id", "By the line of the estimate", DW_FIELD_REFERENCE, offsetof(DwOperation, estimate_line_id),
     .refers = "estimate_line", .kept = true},
    {"place", "Place in the plan", DW_FIELD_INTEGER, offsetof(DwOperation, place), .kept = true},
    {"care", "To heed", DW_FIELD_TEXT, offsetof(DwOperation, care), .lines = true},
    {"left_out", "Not done, because", DW_FIELD_TEXT, offsetof(DwOperation, left_out)},
};

static const DwField lubrication_fields[] = {
    {"job_id", "Job", DW_FIELD_REFERENCE, offsetof(DwLubrication, job_id), .refers = "job", .required = true},
    {"point", "Point", DW_FIELD_TEXT, offsetof(DwLubrication, point), .required = true},
    {"lubricant", "Lubricant", DW_FIELD_TEXT, offsetof(DwLubrication, lubricant), .required = true},
    {"quantity_ml", "Quantity", DW_FIELD_REAL, offsetof(DwLubrication, quantity_ml), .high = 10000, .unit = "ml"},
    {"drops", "Drops", DW_FIELD_REAL, offsetof(DwLubrication, drops), .high = 10000},
    {"note", "Note", DW_FIELD_TEXT, offsetof(DwLubrication, note), .lines = true},
};

static const DwField part_fields[] = {
    {"job_id", "Job", DW_FIELD_REFERENCE, offsetof(DwFittedPart, job_id), .refers = "job", .required = true},
    {"stock_id", "From stock", DW_FIELD_REFERENCE, offsetof(DwFittedPart, stock_id), .refers = "stock"},
    {"name", "Part", DW_FIELD_TEXT, offsetof(DwFittedPart, name), .required = true},
    {"quantity", "Quantity", DW_FIELD_REAL, offsetof(DwFittedPart, quantity), .required = true},
    {"condition", "Condition", DW_FIELD_CHOICE, offsetof(DwFittedPart, condition), .choices = "new|used|reconditioned"},
    {"batch", "Batch", DW_FIELD_TEXT, offsetof(DwFittedPart, batch)},
    {"price", "Price", DW_FIELD_AMOUNT, offsetof(DwFittedPart, price)},
    {"old_part", "Old part", DW_FIELD_CHOICE, offsetof(DwFittedPart, old_part),
     .choices = "none|returned|kept for the owner|left with the shop"},
    {"note", "Note", DW_FIELD_TEXT, offsetof(DwFittedPart, note), .lines = true},
};

const DwEntity dw_operation_entity = {"operation",
                                      "operation",
                                      sizeof(DwOperation),
                                      operation_fields,
                                      sizeof operation_fields / sizeof *operation_fields,
                                      .of_customer = DW_JOBS_OF_CUSTOMER};
const DwEntity dw_lubrication_entity = {"lubrication",
                                        "lubrication",
                                        sizeof(DwLubrication),
                                        lubrication_fields,
                                        sizeof lubrication_fields / sizeof *lubrication_fields,
                                        .of_customer = DW_JOBS_OF_CUSTOMER};
const DwEntity dw_part_entity = {"part",
                                 "part fitted",
                                 sizeof(DwFittedPart),
                                 part_fields,
                                 sizeof part_fields / sizeof *part_fields,
                                 .of_customer = DW_JOBS_OF_CUSTOMER};

bool dw_operation_is_done(const DwOperation *operation)
{
    return operation->actual_minutes > 0 || operation->done_at;
}

DwStatus dw_operation_keep_plan(DwBook *book, DwOperation *operation, DwMessage *message)
{
    return dw_record_keep(book, &operation->record, message);
}

DwStatus dw_operation_plan(DwBook *book, int64_t job, DwRecords *operations, DwMessage *message)
{
    return dw_record_select(book, &dw_operation_entity, "WHERE job_id = ? AND place > 0 ORDER BY place, id", job,
                            operations, message);
}

DwStatus dw_operation_planned(DwBook *book, int64_t job, int64_t place, DwOperation *operation, DwMessage *message)
{
    DwQuery query = dw_query_begin(book, "SELECT id FROM operation WHERE job_id = ? AND place = ?");
    dw_query_bind_integer(&query, job);
    dw_query_bind_integer(&query, place);
    int64_t id = place > 0 && dw_query_step(&query) ? dw_query_integer(&query, 0) : 0;
    DwStatus status = dw_query_end(&query, message);
    if (status == DW_OK && !id)
        status = dw_fail(message, DW_BAD_INPUT, "The plan of this job has no step %lld.", (long long)place);
    return status == DW_OK ? dw_record_load(book, &operation->record, id, message) : status;
}

void dw_operation_tick(DwBook *book, DwOperation *operation, int64_t minutes)
{
    dw_field_stamp(book, &operation->done_at, &operation->who);
    dw_field_replace(&operation->left_out, "");
    if (minutes > 0)
        operation->actual_minutes = minutes;
}

void dw_operation_untick(DwOperation *operation)
{
    free(operation->done_at);
    operation->done_at = NULL;
    operation->actual_minutes = 0;
    dw_field_replace(&operation->who, "");
}

DwStatus dw_operation_leave_out(DwOperation *operation, const char *why, DwMessage *message)
{
    if (dw_operation_is_done(operation))
        return dw_fail(message, DW_BAD_INPUT, "%s is done. Take the tick away first.", operation->name);
    if (!*why)
        return dw_fail(message, DW_BAD_INPUT, "Say why %s is not done; the report says it.", operation->name);
    dw_field_replace(&operation->left_out, why);
    return DW_OK;
}

static void take_over(char **place, const char *text)
{
    if (*place && **place)
        return;
    free(*place);
    *place = dw_memory_text(text);
}

static DwStatus take_from_stock(DwBook *book, DwFittedPart *part, DwMessage *message)
{
    DwStock stock;
    dw_record_init(&stock.record, &dw_stock_entity);
    DwStatus status = dw_record_load(book, &stock.record, part->stock_id, message);
    if (status == DW_OK) {
        take_over(&part->name, stock.name);
        take_over(&part->batch, stock.batch);
        if (part->price == DW_AMOUNT_NONE)
            part->price = stock.price;
        status = dw_stock_move(book, part->stock_id, part->job_id, -part->quantity, "fitted", message);
    }
    dw_record_clear(&stock.record);
    return status;
}

DwStatus dw_part_fit(DwBook *book, DwFittedPart *part, DwMessage *message)
{
    if (isnan(part->quantity))
        part->quantity = 1;
    if (!(part->quantity > 0))
        return dw_fail(message, DW_BAD_INPUT, "The quantity fitted must be more than 0.");
    DwStatus status = dw_book_begin(book, message);
    if (status != DW_OK)
        return status;
    if (part->stock_id)
        status = take_from_stock(book, part, message);
    if (status == DW_OK)
        status = dw_record_save(book, &part->record, message);
    status = dw_book_end(book, status, message);
    if (status != DW_OK)
        part->record.id = 0;
    return status;
}

DwStatus dw_operation_history(DwBook *book, const char *name, const char *drive, DwOperationHistory *history,
                              DwMessage *message)
{
    DwQuery query = dw_query_begin(
        book, "SELECT count(*), avg(actual_minutes), min(actual_minutes), max(actual_minutes) FROM operation "
              "JOIN job ON job.id = operation.job_id LEFT JOIN deck ON deck.id = job.deck_id "
              "WHERE operation.name = ?1 AND actual_minutes > 0 AND (?2 = '' OR deck.drive = ?2)");
    dw_query_bind_text(&query, name);
    dw_query_bind_text(&query, drive);
    DwOperationHistory found = {.mean_minutes = NAN};
    if (dw_query_step(&query))
        found = (DwOperationHistory){dw_query_integer(&query, 0), dw_query_real(&query, 1), dw_query_integer(&query, 2),
                                     dw_query_integer(&query, 3)};
    DwStatus status = dw_query_end(&query, message);
    if (status == DW_OK)
        *history = found;
    return status;
}
