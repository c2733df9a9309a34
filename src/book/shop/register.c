// SPDX-License-Identifier: MIT
#include "book/shop/register.h"

#include "base/memory.h"
#include "book/store/private.h"

#include <math.h>
#include <stdio.h>
#include <string.h>

static const DwField test_record_fields[] = {
    {"name", "Name", DW_FIELD_TEXT, offsetof(DwTestRecord, name), .required = true},
    {"title", "Title", DW_FIELD_TEXT, offsetof(DwTestRecord, title)},
    {"catalogue_number", "Catalogue number", DW_FIELD_TEXT, offsetof(DwTestRecord, catalogue_number)},
    {"maker", "Maker", DW_FIELD_TEXT, offsetof(DwTestRecord, maker)},
    {"country", "Country", DW_FIELD_TEXT, offsetof(DwTestRecord, country)},
    {"copy", "Copy", DW_FIELD_CHOICE, offsetof(DwTestRecord, copy), .choices = "working|best kept"},
    {"plays", "Plays", DW_FIELD_INTEGER, offsetof(DwTestRecord, plays), .high = 1000000},
    {"eccentricity_mm", "Known eccentricity", DW_FIELD_REAL, offsetof(DwTestRecord, eccentricity_mm), .unit = "mm"},
    {"level_error_db", "Known level error", DW_FIELD_REAL, offsetof(DwTestRecord, level_error_db), .unit = "dB"},
    {"tone_error", "Known error of its tone", DW_FIELD_REAL, offsetof(DwTestRecord, tone_error), .unit = "ppm"},
    {"bought_on", "Bought on", DW_FIELD_DATE, offsetof(DwTestRecord, bought_on)},
    {"retired_on", "Retired on", DW_FIELD_DATE, offsetof(DwTestRecord, retired_on)},
    {"note", "Note", DW_FIELD_TEXT, offsetof(DwTestRecord, note), .lines = true},
};

static const DwField instrument_fields[] = {
    {"name", "Name", DW_FIELD_TEXT, offsetof(DwInstrument, name), .required = true},
    {"kind", "Kind", DW_FIELD_TEXT, offsetof(DwInstrument, kind)},
    {"serial", "Serial number", DW_FIELD_TEXT, offsetof(DwInstrument, serial)},
    {"resolution", "Resolution", DW_FIELD_REAL, offsetof(DwInstrument, resolution)},
    {"uncertainty", "Uncertainty", DW_FIELD_REAL, offsetof(DwInstrument, uncertainty),
     .help = "What it can be trusted to, not what it displays."},
    {"unit", "Unit", DW_FIELD_TEXT, offsetof(DwInstrument, unit)},
    {"check_days", "Days between checks", DW_FIELD_INTEGER, offsetof(DwInstrument, check_days), .high = 36500},
    {"retired_on", "Retired on", DW_FIELD_DATE, offsetof(DwInstrument, retired_on)},
    {"note", "Note", DW_FIELD_TEXT, offsetof(DwInstrument, note), .lines = true},
};

static const DwField check_fields[] = {
    {"instrument_id", "Instrument", DW_FIELD_REFERENCE, offsetof(DwInstrumentCheck, instrument_id),
     .refers = "instrument", .required = true},
    {"checked_on", "Checked on", DW_FIELD_DATE, offsetof(DwInstrumentCheck, checked_on), .required = true},
    {"reference", "Compared with", DW_FIELD_TEXT, offsetof(DwInstrumentCheck, reference)},
    {"expected", "Expected", DW_FIELD_REAL, offsetof(DwInstrumentCheck, expected), .required = true},
    {"found", "Found", DW_FIELD_REAL, offsetof(DwInstrumentCheck, found), .required = true},
    {"tolerance", "Tolerance", DW_FIELD_REAL, offsetof(DwInstrumentCheck, tolerance), .required = true},
    {"unit", "Unit", DW_FIELD_TEXT, offsetof(DwInstrumentCheck, unit)},
    {"passed", "Passed", DW_FIELD_YES, offsetof(DwInstrumentCheck, passed), .kept = true},
    {"who", "By", DW_FIELD_TEXT, offsetof(DwInstrumentCheck, who)},
    {"note", "Note", DW_FIELD_TEXT, offsetof(DwInstrumentCheck, note), .lines = true},
};

static const DwField chain_fields[] = {
    {"name", "Name", DW_FIELD_TEXT, offsetof(DwChain, name), .required = true},
    {"preamplifier", "Preamplifier", DW_FIELD_TEXT, offsetof(DwChain, preamplifier)},
    {"interface", "Interface", DW_FIELD_TEXT, offsetof(DwChain, interface)},
    {"gain_db", "Gain", DW_FIELD_REAL, offsetof(DwChain, gain_db), .unit = "dB"},
    {"rate_hz", "Sampling rate", DW_FIELD_REAL, offsetof(DwChain, rate_hz), .unit = "Hz"},
    {"bits", "Bits", DW_FIELD_INTEGER, offsetof(DwChain, bits)},
    {"equalisation", "Recorded", DW_FIELD_CHOICE, offsetof(DwChain, equalisation), .choices = "after RIAA|before RIAA"},
    {"clock_error", "Clock error", DW_FIELD_REAL, offsetof(DwChain, clock_error), .unit = "ppm"},
    {"checked_on", "Checked on", DW_FIELD_DATE, offsetof(DwChain, checked_on)},
    {"note", "Note", DW_FIELD_TEXT, offsetof(DwChain, note), .lines = true},
};

const DwEntity dw_test_record_entity = {"test_record", "test record", sizeof(DwTestRecord), test_record_fields,
                                        sizeof test_record_fields / sizeof *test_record_fields};
const DwEntity dw_instrument_entity = {"instrument", "instrument", sizeof(DwInstrument), instrument_fields,
                                       sizeof instrument_fields / sizeof *instrument_fields};
const DwEntity dw_instrument_check_entity = {"instrument_check", "check of an instrument", sizeof(DwInstrumentCheck),
                                             check_fields, sizeof check_fields / sizeof *check_fields};
const DwEntity dw_chain_entity = {"chain", "recording chain", sizeof(DwChain), chain_fields,
                                  sizeof chain_fields / sizeof *chain_fields};

DwStatus dw_instrument_check(DwBook *book, DwInstrumentCheck *check, DwMessage *message)
{
    char today[DW_DATE_SIZE];
    dw_book_today(book, today);
    if (!check->checked_on || !*check->checked_on)
        dw_field_replace(&check->checked_on, today);
    if (!check->who || !*check->who)
        dw_field_replace(&check->who, dw_book_actor(book));
    // A billionth of the value is the rounding of decimal fractions, no error of the instrument.
    double slack = 1e-9 * (fabs(check->expected) + check->tolerance);
    check->passed = fabs(check->found - check->expected) <= check->tolerance + slack;
    return dw_record_keep(book, &check->record, message);
}

DwStatus dw_chain_check_clock(DwBook *book, int64_t chain_id, double error_ppm, DwMessage *message)
{
    enum { HUNDREDTHS = 100 };
    DwChain chain;
    char today[DW_DATE_SIZE];
    dw_book_today(book, today);
    dw_record_init(&chain.record, &dw_chain_entity);
    DwStatus status = dw_record_load(book, &chain.record, chain_id, message);
    chain.clock_error = round(error_ppm * HUNDREDTHS) / HUNDREDTHS;
    if (status == DW_OK)
        status = dw_record_set(book, &chain.record, "checked_on", today, message);
    if (status == DW_OK)
        status = dw_record_save(book, &chain.record, message);
    dw_record_clear(&chain.record);
    return status;
}

DwStatus dw_instrument_state(DwBook *book, int64_t instrument, DwCheckState *state, char checked_on[DW_DATE_SIZE],
                             DwMessage *message)
{
    DwQuery query = dw_query_begin(
        book, "SELECT check_days, c.checked_on, c.passed FROM instrument LEFT JOIN instrument_check AS c "
              "ON c.instrument_id = instrument.id WHERE instrument.id = ? "
              "ORDER BY c.checked_on DESC, c.id DESC LIMIT 1");
    dw_query_bind_integer(&query, instrument);
    int64_t days = 0;
    bool passed = false;
    checked_on[0] = '\0';
    if (dw_query_step(&query)) {
        days = dw_query_integer(&query, 0);
        snprintf(checked_on, DW_DATE_SIZE, "%s", dw_query_text(&query, 1));
        passed = dw_query_integer(&query, 2) != 0;
    }
    DwStatus status = dw_query_end(&query, message);
    char today[DW_DATE_SIZE];
    dw_book_today(book, today);
    if (!*checked_on)
        *state = days ? DW_CHECK_NEVER : DW_CHECK_NOT_NEEDED;
    else if (!passed)
        *state = DW_CHECK_FAILED;
    else
        *state = days && dw_moment_days_between(checked_on, today) > days ? DW_CHECK_OVERDUE : DW_CHECK_VALID;
    return status;
}
