// SPDX-License-Identifier: MIT
#include "base/memory.h"
#include "book/store/private.h"
#include "book/shop/stock.h"

#include <math.h>
#include <stdlib.h>

static const DwField stock_fields[] = {
    {"number", "Stock number", DW_FIELD_TEXT, offsetof(DwStock, number), .required = true},
    {"name", "Name", DW_FIELD_TEXT, offsetof(DwStock, name), .required = true},
    {"kind", "Kind", DW_FIELD_CHOICE, offsetof(DwStock, kind),
     .choices = "other|belt|idler|stylus|cartridge|capacitor|electronic|lamp|bearing|lubricant|cable|rubber"},
    {"profile", "Profile", DW_FIELD_CHOICE, offsetof(DwStock, profile), .choices = "none|flat|square|round"},
    {"inner_length_mm", "Inner length", DW_FIELD_REAL, offsetof(DwStock, inner_length_mm), .high = 10000, .unit = "mm",
     .help = "Inner circumference, unstretched."},
    {"width_mm", "Width", DW_FIELD_REAL, offsetof(DwStock, width_mm), .high = 10000, .unit = "mm"},
    {"thickness_mm", "Thickness", DW_FIELD_REAL, offsetof(DwStock, thickness_mm), .high = 10000, .unit = "mm"},
    {"value", "Value", DW_FIELD_TEXT, offsetof(DwStock, value)},
    {"fits", "Fits", DW_FIELD_TEXT, offsetof(DwStock, fits), .lines = true},
    {"supplier", "Supplier", DW_FIELD_TEXT, offsetof(DwStock, supplier)},
    {"lead_days", "Lead time in days", DW_FIELD_INTEGER, offsetof(DwStock, lead_days), .high = 36500},
    {"cost", "Cost", DW_FIELD_AMOUNT, offsetof(DwStock, cost), .not_negative = true},
    {"price", "Price", DW_FIELD_AMOUNT, offsetof(DwStock, price), .not_negative = true},
    {"shelf", "Shelf", DW_FIELD_TEXT, offsetof(DwStock, shelf)},
    {"unit", "Unit", DW_FIELD_TEXT, offsetof(DwStock, unit)},
    {"on_hand", "On hand", DW_FIELD_REAL, offsetof(DwStock, on_hand), .kept = true},
    {"least", "Reorder at", DW_FIELD_REAL, offsetof(DwStock, least), .high = 1000000},
    {"batch", "Batch", DW_FIELD_TEXT, offsetof(DwStock, batch)},
    {"opened_on", "Opened on", DW_FIELD_DATE, offsetof(DwStock, opened_on)},
    {"note", "Note", DW_FIELD_TEXT, offsetof(DwStock, note), .lines = true},
};

static const DwField move_fields[] = {
    {"stock_id", "Stock", DW_FIELD_REFERENCE, offsetof(DwStockMove, stock_id), .refers = "stock", .required = true},
    {"job_id", "Job", DW_FIELD_REFERENCE, offsetof(DwStockMove, job_id), .refers = "job"},
    {"change", "Change", DW_FIELD_REAL, offsetof(DwStockMove, change), .required = true},
    {"why", "Why", DW_FIELD_TEXT, offsetof(DwStockMove, why)},
    {"at", "At", DW_FIELD_MOMENT, offsetof(DwStockMove, at), .required = true},
    {"who", "By", DW_FIELD_TEXT, offsetof(DwStockMove, who)},
};

const DwEntity dw_stock_entity = {"stock", "stock item", sizeof(DwStock), stock_fields,
                                  sizeof stock_fields / sizeof *stock_fields};
const DwEntity dw_stock_move_entity = {
    "stock_move", "stock movement", sizeof(DwStockMove), move_fields, sizeof move_fields / sizeof *move_fields,
    .quiet = true};

static DwStatus note_move(DwBook *book, int64_t stock, int64_t job, double change, const char *why, DwMessage *message)
{
    DwStockMove move;
    dw_record_init(&move.record, &dw_stock_move_entity);
    move.stock_id = stock;
    move.job_id = job;
    move.change = change;
    move.why = dw_memory_text(why);
    dw_field_stamp(book, &move.at, &move.who);
    DwStatus status = dw_record_keep(book, &move.record, message);
    dw_record_clear(&move.record);
    return status;
}

DwStatus dw_stock_move(DwBook *book, int64_t id, int64_t job, double change, const char *why, DwMessage *message)
{
    DwStatus status = dw_book_begin(book, message);
    if (status != DW_OK)
        return status;
    DwStock stock;
    dw_record_init(&stock.record, &dw_stock_entity);
    status = dw_record_load(book, &stock.record, id, message);
    if (status == DW_OK) {
        double now = isnan(stock.on_hand) ? 0 : stock.on_hand;
        // Held to a millionth, so that tenths of a millilitre add up to nothing left.
        stock.on_hand = round((now + change) * 1e6) / 1e6;
        if (change < 0 && stock.on_hand < 0)
            status = dw_fail(message, DW_BAD_INPUT,
                             "%s: %g%s%s on hand, not %g. Count the shelf and book what is there first.", stock.number,
                             now, *stock.unit ? " " : "", stock.unit, -change);
    }
    if (status == DW_OK)
        status = dw_record_keep(book, &stock.record, message);
    if (status == DW_OK)
        status = note_move(book, id, job, change, why, message);
    dw_record_clear(&stock.record);
    return dw_book_end(book, status, message);
}

static DwBeltMatch read_match(const DwQuery *query, double length_mm, double width_mm, double thickness_mm)
{
    return (DwBeltMatch){
        .stock_id = dw_query_integer(query, 0),
        .number = dw_memory_text(dw_query_text(query, 1)),
        .name = dw_memory_text(dw_query_text(query, 2)),
        .shelf = dw_memory_text(dw_query_text(query, 3)),
        .on_hand = dw_query_is_nothing(query, 4) ? 0 : dw_query_real(query, 4),
        .length_deviation = (dw_query_real(query, 5) - length_mm) / length_mm,
        .width_difference_mm = dw_query_real(query, 6) - width_mm,
        .thickness_difference_mm = dw_query_real(query, 7) - thickness_mm,
    };
}

DwStatus dw_stock_belts(DwBook *book, DwBeltProfile profile, double length_mm, double width_mm, double thickness_mm,
                        double tolerance, DwBeltMatches *matches, DwMessage *message)
{
    if (!(length_mm > 0) || !(tolerance >= 0 && tolerance < 1))
        return dw_fail(message, DW_BAD_INPUT, "Give the wanted belt's inner length (such as 590 mm).");
    char *word = dw_field_word(dw_field_find(&dw_stock_entity, "profile"), (int)profile);
    DwQuery query = dw_query_begin(
        book, "SELECT id, number, name, shelf, on_hand, inner_length_mm, width_mm, thickness_mm FROM stock "
              "WHERE kind = 'belt' AND (?1 = 'none' OR profile = ?1) "
              "AND abs(inner_length_mm - ?2) <= ?2 * ?3 * (1 + 1e-12) "
              "ORDER BY coalesce(on_hand, 0) <= 0, abs(inner_length_mm - ?2), "
              "abs(coalesce(width_mm - ?4, 0)), abs(coalesce(thickness_mm - ?5, 0)), number");
    dw_query_bind_text(&query, word);
    dw_query_bind_real(&query, length_mm);
    dw_query_bind_real(&query, tolerance);
    dw_query_bind_real(&query, width_mm);
    dw_query_bind_real(&query, thickness_mm);
    DwBeltMatches found = {0};
    while (dw_query_step(&query)) {
        found.matches = dw_memory_resize(found.matches, found.count + 1, sizeof *found.matches);
        found.matches[found.count++] = read_match(&query, length_mm, width_mm, thickness_mm);
    }
    free(word);
    DwStatus status = dw_query_end(&query, message);
    if (status == DW_OK)
        *matches = found;
    else
        dw_belt_matches_clear(&found);
    return status;
}

void dw_belt_matches_clear(DwBeltMatches *matches)
{
    for (size_t i = 0; i < matches->count; i++) {
        free(matches->matches[i].number);
        free(matches->matches[i].name);
        free(matches->matches[i].shelf);
    }
    free(matches->matches);
    *matches = (DwBeltMatches){0};
}

DwStatus dw_stock_reorder(DwBook *book, DwRecords *stock, DwMessage *message)
{
    return dw_record_select(book, &dw_stock_entity,
                            "WHERE least IS NOT NULL AND coalesce(on_hand, 0) <= least ORDER BY supplier, number", 0,
                            stock, message);
}
