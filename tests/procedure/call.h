// SPDX-License-Identifier: MIT
// Runs a procedure on operands alone, as the command line does.
#ifndef DW_TESTS_PROCEDURE_CALL_H
#define DW_TESTS_PROCEDURE_CALL_H

#include "procedure/registry/procedure.h"
#include "support/suite.h"

#include <string.h>

// OPERANDS are "key=value" words parted by single spaces. The caller frees the inputs with dw_inputs_free().
static inline DwInputs *call_inputs(const char *operands)
{
    DwInputs *inputs = dw_inputs_new();
    DwMessage message = {""};
    char *words = strdup(operands), *rest = words;
    for (char *word; (word = strsep(&rest, " "));)
        if (*word && dw_inputs_set_operand(inputs, word, &message) != DW_OK)
            ck_abort_msg("%s: %s", word, message.text);
    free(words);
    return inputs;
}

// Runs NAME on the COUNT recordings of PATHS. Returned: the sheet, or NULL with
// the message. The caller frees it with dw_sheet_free().
static inline DwSheet *call_files(const char *name, const char *const *paths, size_t count, const char *operands,
                                  DwMessage *message)
{
    DwInputs *inputs = call_inputs(operands);
    DwRequest request = {inputs, paths, count};
    DwSheet *sheet = NULL;
    const DwProcedure *procedure = dw_procedure_find(name);
    ck_assert_ptr_nonnull(procedure);
    if (dw_procedure_run(procedure, &request, &sheet, message) != DW_OK)
        sheet = NULL;
    dw_inputs_free(inputs);
    return sheet;
}

// The same without recordings.
static inline DwSheet *call(const char *name, const char *operands, DwMessage *message)
{
    return call_files(name, NULL, 0, operands, message);
}

static inline DwSheet *call_well(const char *name, const char *operands)
{
    DwMessage message = {""};
    DwSheet *sheet = call(name, operands, &message);
    ck_assert_msg(sheet, "%s %s: %s", name, operands, message.text);
    return sheet;
}

static inline double value(const DwSheet *sheet, const char *key)
{
    const DwReading *reading = dw_sheet_reading(sheet, key);
    ck_assert_msg(reading, "no reading %s", key);
    return reading->value;
}

static inline bool says(const DwSaying *lines, size_t count, const char *words)
{
    for (size_t i = 0; i < count; i++)
        if (strstr(lines[i].text, words))
            return true;
    return false;
}

static inline bool is_not_measured(const DwSheet *sheet, const char *key)
{
    for (size_t i = 0; i < sheet->not_measured_count; i++)
        if (strcmp(sheet->not_measured[i].key, key) == 0)
            return true;
    return false;
}

#endif
