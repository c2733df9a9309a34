// SPDX-License-Identifier: MIT
// Runs a procedure on operands, as a call on the command line would.
#ifndef DW_TESTS_SUPPORT_COMPUTATION_H
#define DW_TESTS_SUPPORT_COMPUTATION_H

#include "procedure/registry/procedure.h"
#include "support/sheet_checks.h"

#include <check.h>
#include <stdlib.h>
#include <string.h>

// Runs the procedure called NAME on OPERANDS ("key=value", NULL last).
static inline DwStatus compute(const char *name, const char *const *operands, DwSheet **sheet, DwMessage *message)
{
    const DwProcedure *procedure = dw_procedure_find(name);
    ck_assert_ptr_nonnull(procedure);
    DwInputs *inputs = dw_inputs_new();
    DwStatus status = DW_OK;
    for (size_t i = 0; operands[i] && status == DW_OK; i++) {
        char *key = strndup(operands[i], strcspn(operands[i], "="));
        ck_assert_msg(dw_procedure_takes(procedure, key), "%s does not take %s", name, key);
        free(key);
        status = dw_inputs_set_operand(inputs, operands[i], message);
    }
    DwRequest request = {.inputs = inputs};
    if (status == DW_OK)
        status = dw_procedure_run(procedure, &request, sheet, message);
    dw_inputs_free(inputs);
    return status;
}

// The sheet of a call that must succeed. The caller frees it with dw_sheet_free().
#define COMPUTE(name, ...) computed(name, (const char *const[]){__VA_ARGS__, NULL})
static inline DwSheet *computed(const char *name, const char *const *operands)
{
    DwSheet *sheet = NULL;
    DwMessage message = {""};
    ck_assert_msg(compute(name, operands, &sheet, &message) == DW_OK, "%s", message.text);
    return sheet;
}

// Checks that a call is refused with one line that holds PART.
#define REFUSE(name, part, ...) refused(name, part, (const char *const[]){__VA_ARGS__, NULL})
static inline void refused(const char *name, const char *part, const char *const *operands)
{
    DwSheet *sheet = NULL;
    DwMessage message = {""};
    ck_assert_int_eq(compute(name, operands, &sheet, &message), DW_BAD_INPUT);
    ck_assert_msg(strstr(message.text, part) && !strchr(message.text, '\n'), "%s", message.text);
}

#endif
