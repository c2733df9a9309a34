// SPDX-License-Identifier: MIT
#include "book/job/intake.h"

#include "base/memory.h"
#include "book/shop/settings.h"
#include "book/store/private.h"
#include "book/store/words.h"

#include <stdlib.h>
#include <string.h>

static const DwField intake_fields[] = {
    {"job_id", "Job", DW_FIELD_REFERENCE, offsetof(DwIntake, job_id), .refers = "job", .required = true},
    {"at", "Received", DW_FIELD_MOMENT, offsetof(DwIntake, at), .required = true},
    {"received_by", "Received by", DW_FIELD_TEXT, offsetof(DwIntake, received_by)},
    {"arrived", "Arrived by", DW_FIELD_CHOICE, offsetof(DwIntake, arrived), .choices = "counter|courier|collected"},
    {"parcel", "Parcel number", DW_FIELD_TEXT, offsetof(DwIntake, parcel)},
    {"words", "The owner's words", DW_FIELD_TEXT, offsetof(DwIntake, words), .lines = true, .personal = true,
     .help = "Verbatim: what, when, since when, every record or one, which side, warm or cold."},
    {"since_when", "Since when", DW_FIELD_TEXT, offsetof(DwIntake, since_when)},
    {"worked_last", "Last worked well", DW_FIELD_TEXT, offsetof(DwIntake, worked_last)},
    {"changed_lately", "Changed lately", DW_FIELD_TEXT, offsetof(DwIntake, changed_lately), .lines = true,
     .help = "House move, new stylus, new amplifier, oil added, belt boiled."},
    {"prior_repairer", "Repaired before by", DW_FIELD_TEXT, offsetof(DwIntake, prior_repairer), .personal = true},
    {"system", "Plays into", DW_FIELD_TEXT, offsetof(DwIntake, system), .lines = true,
     .help = "Amplifier, phono input, cable, floor, shelf, loudspeakers."},
    {"wish", "Wanted", DW_FIELD_CHOICE, offsetof(DwIntake, wish),
     .choices = "not said|make it play|like new|original parts only|upgrade|report only"},
    {"ceiling", "Ceiling", DW_FIELD_AMOUNT, offsetof(DwIntake, ceiling), .not_negative = true,
     .help = "May be spent without asking."},
    {"contact_before", "Ask before", DW_FIELD_AMOUNT, offsetof(DwIntake, contact_before), .not_negative = true},
    {"stylus_damaged", "Stylus bent or missing on arrival", DW_FIELD_YES, offsetof(DwIntake, stylus_damaged)},
    {"irreplaceable", "Rare or irreplaceable", DW_FIELD_YES, offsetof(DwIntake, irreplaceable)},
    {"courier_damage", "Transport damage suspected", DW_FIELD_YES, offsetof(DwIntake, courier_damage),
     .help = "Keep and photograph all packaging."},
    {"sentimental", "Of sentimental value", DW_FIELD_YES, offsetof(DwIntake, sentimental)},
    {"dispute", "Dispute pending", DW_FIELD_YES, offsetof(DwIntake, dispute)},
    {"modified_mains", "Mains wiring altered", DW_FIELD_YES, offsetof(DwIntake, modified_mains)},
    {"smell", "Smell", DW_FIELD_TEXT, offsetof(DwIntake, smell)},
    {"earlier_repair", "Signs of earlier repair", DW_FIELD_TEXT, offsetof(DwIntake, earlier_repair), .lines = true},
    {"none_other_received", "None other received", DW_FIELD_YES, offsetof(DwIntake, none_other_received)},
    {"list_correct", "List correct", DW_FIELD_YES, offsetof(DwIntake, list_correct)},
    {"terms_accepted", "Terms accepted", DW_FIELD_YES, offsetof(DwIntake, terms_accepted)},
    {"estimate_charge_told", "Estimate charge told", DW_FIELD_YES, offsetof(DwIntake, estimate_charge_told)},
    {"storage_charge_told", "Storage charge told", DW_FIELD_YES, offsetof(DwIntake, storage_charge_told)},
};

static const DwField accessory_fields[] = {
    {"intake_id", "Intake", DW_FIELD_REFERENCE, offsetof(DwAccessory, intake_id), .refers = "intake", .required = true},
    {"name", "Accessory", DW_FIELD_TEXT, offsetof(DwAccessory, name), .required = true},
    {"received", "Received", DW_FIELD_YES, offsetof(DwAccessory, received)},
    {"note", "Note", DW_FIELD_TEXT, offsetof(DwAccessory, note)},
};

static const DwField mark_fields[] = {
    {"intake_id", "Intake", DW_FIELD_REFERENCE, offsetof(DwMark, intake_id), .refers = "intake", .required = true},
    {"zone", "Zone", DW_FIELD_CHOICE, offsetof(DwMark, zone),
     .choices = "plinth top|plinth front|plinth left|plinth right|plinth back|underside|cover|platter rim|mat|"
                "arm tube|headshell|cartridge|cable"},
    {"kind", "Mark", DW_FIELD_CHOICE, offsetof(DwMark, kind),
     .choices = "scratch|crack|chip|dent|missing|corrosion|stain|repair|wear|other"},
    {"across", "Across", DW_FIELD_REAL, offsetof(DwMark, across), .help = "0 at the zone's left edge, 1 at its right."},
    {"along", "Along", DW_FIELD_REAL, offsetof(DwMark, along), .help = "0 at the zone's far edge, 1 at its near one."},
    {"note", "Note", DW_FIELD_TEXT, offsetof(DwMark, note)},
};

#define INTAKES_OF_CUSTOMER "intake_id IN (SELECT id FROM intake WHERE " DW_JOBS_OF_CUSTOMER ")"

const DwEntity dw_intake_entity = {"intake",
                                   "intake",
                                   sizeof(DwIntake),
                                   intake_fields,
                                   sizeof intake_fields / sizeof *intake_fields,
                                   .of_customer = DW_JOBS_OF_CUSTOMER};
const DwEntity dw_accessory_entity = {"accessory",
                                      "accessory",
                                      sizeof(DwAccessory),
                                      accessory_fields,
                                      sizeof accessory_fields / sizeof *accessory_fields,
                                      .of_customer = INTAKES_OF_CUSTOMER};
const DwEntity dw_mark_entity = {"mark",
                                 "mark",
                                 sizeof(DwMark),
                                 mark_fields,
                                 sizeof mark_fields / sizeof *mark_fields,
                                 .of_customer = INTAKES_OF_CUSTOMER};

DwStatus dw_intake_of_job(DwBook *book, int64_t job, DwIntake *intake, DwMessage *message)
{
    int64_t id = 0;
    DwStatus status = dw_query_number(book, "SELECT id FROM intake WHERE job_id = ?", job, &id, message);
    if (status == DW_OK && id == 0)
        return dw_fail(message, DW_BAD_INPUT, "The job has no intake yet. Write down what was received first.");
    return status == DW_OK ? dw_record_load(book, &intake->record, id, message) : status;
}

char *dw_intake_setting(DwBook *book, int64_t job, const char *key)
{
    DwQuery query = dw_query_begin(book, "SELECT at FROM intake WHERE job_id = ?");
    dw_query_bind_integer(&query, job);
    char *at = dw_query_step(&query) ? dw_memory_text(dw_query_text(&query, 0)) : NULL;
    dw_query_end(&query, NULL);
    char *then = at && *at ? dw_settings_text_at(book, key, at) : dw_memory_text("");
    bool said = *then && strcmp(then, "0") != 0;
    free(at);
    if (said)
        return then;
    free(then);
    return dw_settings_text(book, key);
}

int64_t dw_intake_amount(DwBook *book, int64_t job, const char *key)
{
    char *text = dw_intake_setting(book, job, key);
    int64_t amount = DW_AMOUNT_NONE;
    if (*text)
        dw_money_read(text, book->amount_digits, &amount, NULL);
    free(text);
    return amount;
}
