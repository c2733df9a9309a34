// SPDX-License-Identifier: MIT
#include "book/job/set_up.h"

#include "base/arm_key.h"
#include "base/inputs.h"
#include "base/text.h"
#include "base/unit.h"
#include "book/store/private.h"

#include <stdlib.h>
#include <string.h>

static const DwField fields[] = {
    {"job_id", "Job", DW_FIELD_REFERENCE, offsetof(DwSetUp, job_id), .refers = "job", .required = true},
    {"phase", "When", DW_FIELD_CHOICE, offsetof(DwSetUp, phase), .choices = DW_PHASE_WORDS},
    {"key", "Setting", DW_FIELD_TEXT, offsetof(DwSetUp, key), .required = true,
     .help = "A quantity of the catalogue such as arm.overhang, or a name of your own with a label."},
    {"label", "Label", DW_FIELD_TEXT, offsetof(DwSetUp, label)},
    {"value", "Set to", DW_FIELD_TEXT, offsetof(DwSetUp, value), .required = true},
    {"unit", "Unit", DW_FIELD_TEXT, offsetof(DwSetUp, unit)},
    {"instrument", "Instrument", DW_FIELD_TEXT, offsetof(DwSetUp, instrument)},
    {"method", "How", DW_FIELD_TEXT, offsetof(DwSetUp, method)},
    {"remark", "Remark", DW_FIELD_TEXT, offsetof(DwSetUp, remark), .lines = true},
    {"at", "At", DW_FIELD_MOMENT, offsetof(DwSetUp, at), .required = true, .kept = true},
    {"who", "By", DW_FIELD_TEXT, offsetof(DwSetUp, who), .kept = true},
};

// A log of its own: the journal would only say it again.
const DwEntity dw_set_up_entity = {"set_up",
                                   "setting",
                                   sizeof(DwSetUp),
                                   fields,
                                   sizeof fields / sizeof *fields,
                                   .of_customer = DW_JOBS_OF_CUSTOMER,
                                   .quiet = true};

static DwStatus check_value(const DwSetUp *set_up, DwMessage *message)
{
    const char *unit = set_up->unit ? set_up->unit : "";
    char *typed = dw_text_format("%s%s%s", set_up->value, *unit ? " " : "",
                                 dw_message_is_for_pages() ? dw_unit_sign(unit) : unit);
    DwInputs *inputs = dw_inputs_new();
    char *plain = dw_arm_key_plain(set_up->key);
    DwStatus status = dw_inputs_set(inputs, plain, typed, message);
    free(plain);
    dw_inputs_free(inputs);
    free(typed);
    return status;
}

static bool is_empty(const char *text)
{
    return !text || !*text;
}

static bool is_bare_number(const char *text)
{
    double value;
    const char *end = dw_text_number(text, &value);
    return end && !*end;
}

// The catalogue's label, and whose arm it is of.
static void name_after(DwSetUp *set_up, const DwQuantity *quantity)
{
    char *label = dw_arm_key_label(quantity->label, dw_arm_key_name(set_up->key));
    dw_field_replace(&set_up->label, label);
    free(label);
}

DwStatus dw_set_up_note(DwBook *book, DwSetUp *set_up, DwMessage *message)
{
    const DwQuantity *quantity = is_empty(set_up->key) ? NULL : dw_arm_key_quantity(set_up->key);
    DwStatus status = quantity ? dw_arm_key_check(set_up->key, message) : DW_OK;
    if (status == DW_OK && quantity && !is_empty(set_up->value))
        status = check_value(set_up, message);
    if (status != DW_OK)
        return status;
    if (!quantity && !is_empty(set_up->key) && is_empty(set_up->label))
        return dw_fail(message, DW_BAD_INPUT, "\"%s\" is not in the catalogue: give it a label too.", set_up->key);
    if (quantity && is_empty(set_up->label))
        name_after(set_up, quantity);
    bool bare =
        quantity && quantity->kind == DW_QUANTITY_NUMBER && !is_empty(set_up->value) && is_bare_number(set_up->value);
    if (bare && is_empty(set_up->unit))
        dw_field_replace(&set_up->unit, quantity->unit);
    dw_field_stamp(book, &set_up->at, &set_up->who);
    return dw_record_keep(book, &set_up->record, message);
}

DwStatus dw_set_up_standing(DwBook *book, int64_t job, DwPhase phase, DwRecords *set_ups, DwMessage *message)
{
    char *word = dw_field_word(dw_field_find(&dw_set_up_entity, "phase"), (int)phase);
    char *sql = dw_text_format("AS s WHERE job_id = ?1 AND phase = '%s' AND id = (SELECT max(id) FROM set_up WHERE "
                               "job_id = ?1 AND phase = s.phase AND key = s.key) ORDER BY (SELECT min(id) FROM set_up "
                               "WHERE job_id = ?1 AND phase = s.phase AND key = s.key)",
                               word);
    DwStatus status = dw_record_select(book, &dw_set_up_entity, sql, job, set_ups, message);
    free(word);
    free(sql);
    return status;
}

const DwSetUp *dw_set_up_find(const DwRecords *set_ups, const char *key)
{
    for (size_t i = 0; i < set_ups->count; i++) {
        const DwSetUp *set_up = (const DwSetUp *)dw_records_at(set_ups, i);
        if (strcmp(set_up->key, key) == 0)
            return set_up;
    }
    return NULL;
}
