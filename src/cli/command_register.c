// SPDX-License-Identifier: MIT
// What the shop keeps besides jobs: arms, cartridges, styli, test records,
// instruments with their checks, recording chains, the shop's own limits, what
// hangs on an intake, and what is measured on a photograph.
#include "base/memory.h"
#include "base/text.h"
#include "book/shop/arm.h"
#include "book/store/bound.h"
#include "book/shop/cartridge.h"
#include "book/job/copy_wear.h"
#include "book/job/intake.h"
#include "book/job/photo.h"
#include "book/shop/register.h"
#include "cli/book_call.h"
#include "cli/tell.h"

#include <math.h>
#include <stdlib.h>
#include <string.h>

static const struct {
    const DwEntity *entity;
    const char *columns[6];
} kinds[] = {
    {&dw_arm_entity, {"deck_id", "make", "model", "serial"}},
    {&dw_cartridge_entity, {"deck_id", "make", "model", "serial"}},
    {&dw_stylus_entity, {"cartridge_id", "model", "profile", "hours", "grade"}},
    {&dw_test_record_entity, {"name", "title", "plays"}},
    {&dw_instrument_entity, {"name", "kind", "serial"}},
    {&dw_instrument_check_entity, {"instrument_id", "checked_on", "found", "unit", "passed"}},
    {&dw_chain_entity, {"name", "preamplifier", "interface"}},
    {&dw_bound_entity, {"key", "class", "make", "model", "source"}},
    {&dw_accessory_entity, {"intake_id", "name", "received"}},
    {&dw_mark_entity, {"intake_id", "zone", "kind", "note"}},
    {&dw_photo_scale_entity, {"attachment_id", "length_mm", "mm_per_pixel", "reference"}},
    {&dw_photo_measure_entity, {"attachment_id", "kind", "value", "unit", "name"}},
};

static const DwEntity *kind_at(size_t index)
{
    return index < sizeof kinds / sizeof *kinds ? kinds[index].entity : NULL;
}

// The row of the kind called NAME ('-' may stand for '_'); -1 with the message set when there is none.
static int find_kind(const char *name, DwMessage *message)
{
    char *wanted = dw_memory_text(name);
    DwText names = {0};
    int found = -1;
    for (char *at = wanted; *at; at++)
        *at = *at == '-' ? '_' : *at;
    for (size_t i = 0; i < sizeof kinds / sizeof *kinds; i++) {
        if (strcmp(kinds[i].entity->name, wanted) == 0)
            found = (int)i;
        dw_text_add(&names, "%s%s", i ? ", " : "", kinds[i].entity->name);
    }
    if (found < 0)
        dw_fail(message, DW_BAD_INPUT, "\"%s\" is not kept in a register. There are: %s.", name, names.chars);
    dw_text_clear(&names);
    free(wanted);
    return found;
}

static DwStatus show_kind(DwBookCall *call, size_t kind, const char *number, DwMessage *message)
{
    DwRecord *record = dw_memory_new(1, kinds[kind].entity->size);
    dw_record_init(record, kinds[kind].entity);
    DwStatus status =
        number ? dw_book_call_write(call, record, number, message) : dw_book_call_add(call, record, message);
    free(record);
    return status;
}

static DwStatus add(DwBookCall *call, DwMessage *message)
{
    int kind = find_kind(call->words[0], message);
    return kind < 0 ? DW_BAD_INPUT : show_kind(call, (size_t)kind, NULL, message);
}

static DwStatus show(DwBookCall *call, DwMessage *message)
{
    int kind = find_kind(call->words[0], message);
    return kind < 0 ? DW_BAD_INPUT : show_kind(call, (size_t)kind, call->words[1], message);
}

static DwStatus list(DwBookCall *call, DwMessage *message)
{
    int kind = find_kind(call->words[0], message);
    return kind < 0 ? DW_BAD_INPUT : dw_book_call_list(call, kinds[kind].entity, kinds[kind].columns, message);
}

static DwStatus fields(DwBookCall *call, DwMessage *message)
{
    int kind = find_kind(call->words[0], message);
    if (kind < 0)
        return DW_BAD_INPUT;
    dw_book_call_print_fields(kinds[kind].entity);
    return DW_OK;
}

static DwStatus play(DwBookCall *call, DwMessage *message)
{
    int64_t stylus = 0;
    double hours;
    DwStatus status = dw_book_call_number(call->words[0], &stylus, message);
    if (status == DW_OK)
        status = dw_text_number_clear(NULL, call->words[1], message);
    const char *end = dw_text_number(call->words[1], &hours);
    if (status == DW_OK && (!end || *end || !(hours > 0 && hours <= 100000)))
        return dw_fail(message, DW_BAD_INPUT, "\"%s\" is no number of hours.", call->words[1]);
    if (status == DW_OK)
        status = dw_stylus_play(call->book, stylus, hours, message);
    if (status == DW_OK)
        dw_tell(stdout, "%g h are added to stylus id %lld.\n", hours, (long long)stylus);
    return status;
}

static DwStatus state(DwBookCall *call, DwMessage *message)
{
    static const char *const words[] = {[DW_CHECK_NOT_NEEDED] = N_("needs no check"),
                                        [DW_CHECK_NEVER] = N_("was never checked"),
                                        [DW_CHECK_OVERDUE] = N_("is overdue for a check"),
                                        [DW_CHECK_FAILED] = N_("failed its last check"),
                                        [DW_CHECK_VALID] = N_("is in order")};
    DwInstrument instrument;
    DwCheckState checked;
    char day[DW_DATE_SIZE] = "";
    dw_record_init(&instrument.record, &dw_instrument_entity);
    DwStatus status = dw_record_find(call->book, &instrument.record, "name", call->words[0], message);
    if (status == DW_OK)
        status = dw_instrument_state(call->book, instrument.record.id, &checked, day, message);
    if (status == DW_OK)
        printf("%s %s%s%s.\n", instrument.name, dw_said(words[checked]), *day ? dw_said(", last checked ") : "", day);
    dw_record_clear(&instrument.record);
    return status;
}

static void print_level(double value)
{
    if (isnan(value))
        printf("%10s", "–");
    else
        printf("%10.2f", value);
}

// What a copy's treble has lost between two measurements on one deck, where that is more than takes differ by.
static void say_wear(const DwCopyWear *rows, size_t count)
{
    static const char *const names[2] = {"left", "right"};
    static const double REPEATS_DB = 0.5; // common practice, no source
    for (size_t c = 0; c < 2; c++) {
        size_t first = 0, last = 0;
        double fall = dw_copy_wear_fall_db(rows, count, c, &first, &last);
        if (fabs(fall) > REPEATS_DB)
            dw_tell(stdout, "On %s, 10 kHz %s %s by %.1f dB from %s to %s.\n",
                    *rows[first].deck ? rows[first].deck : dw_said("one deck"), dw_said(names[c]),
                    fall > 0 ? dw_said("fell") : dw_said("rose"), fabs(fall), rows[first].day, rows[last].day);
    }
}

static DwStatus wear(DwBookCall *call, DwMessage *message)
{
    DwTestRecord copy;
    DwCopyWear *rows = NULL;
    size_t count = 0;
    dw_record_init(&copy.record, &dw_test_record_entity);
    DwStatus status = dw_record_find(call->book, &copy.record, "name", call->words[0], message);
    if (status == DW_OK)
        status = dw_copy_wear_list(call->book, copy.name, &rows, &count, message);
    if (status == DW_OK) {
        dw_tell(stdout, "%s: played %lld time%s.\n", copy.name, (long long)copy.plays, copy.plays == 1 ? "" : "s");
        if (count)
            dw_tell(stdout, "Day         Deck                      L 10 kHz  R 10 kHz      Hiss Ticks/min\n");
        for (size_t i = 0; i < count; i++) {
            printf("%-10s  %-24.24s", rows[i].day, rows[i].deck);
            print_level(rows[i].treble_db[0]);
            print_level(rows[i].treble_db[1]);
            print_level(rows[i].hiss_db);
            print_level(rows[i].ticks);
            puts("");
        }
        say_wear(rows, count);
    }
    free(rows);
    dw_record_clear(&copy.record);
    return status;
}

static const DwVerb *register_verbs(void)
{
    static const DwVerb verbs[] = {
        {"add", "KIND key=value …",
         "Add an arm, cartridge, stylus, test_record, instrument, instrument_check, chain, bound, accessory, mark, "
         "photo_scale or photo_measure.",
         1, 1, add, .operands = true, .json = true},
        {"show", "KIND NUMBER [key=value …]", "Show one, or change what is given.", 2, 2, show, .operands = true,
         .json = true},
        {"list", "KIND", "List all of a kind.", 1, 1, list, .json = true},
        {"fields", "KIND", "List the keys that can be given.", 1, 1, fields, .makes = true},
        {"play", "STYLUS HOURS", "Add hours played to a stylus.", 2, 2, play},
        {"wear", "TEST_RECORD",
         "Say how often a test record, by its name, was played, and what its kept measurements read over the years.", 1,
         1, wear},
        {"state", "INSTRUMENT", "Say whether an instrument, by its name, may be relied on today.", 1, 1, state},
        {NULL},
    };
    return verbs;
}

const DwCommand dw_command_register = {
    "register", "register VERB …",
    "Keep arms, cartridges, styli, test records, instruments, chains and the shop's own limits.",
    .verbs = register_verbs, .kind_at = kind_at};
