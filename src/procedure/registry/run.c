// SPDX-License-Identifier: MIT
#include "procedure/registry/faults.h"
#include "procedure/registry/limits.h"
#include "procedure/registry/settle.h"
#include "procedure/registry/procedure.h"

#include <string.h>

bool dw_procedure_takes(const DwProcedure *procedure, const char *key)
{
    for (size_t i = 0; procedure->quantities[i]; i++)
        if (strcmp(procedure->quantities[i], key) == 0)
            return true;
    return false;
}

static DwStatus check_recordings(const DwProcedure *procedure, size_t count, DwMessage *message)
{
    if (count < procedure->recordings_least)
        return dw_fail(message, DW_BAD_INPUT, "%s needs %s: deckwright %s FILE%s [key=value …].", procedure->name,
                       procedure->recordings_least == 1 ? "a recording" : "more recordings", procedure->name,
                       procedure->recordings_least == 1 ? "" : " FILE");
    if (count > procedure->recordings_most)
        return procedure->recordings_most == 0
                   ? dw_fail(message, DW_BAD_INPUT, "%s takes no recording, only key=value operands.", procedure->name)
                   : dw_fail(message, DW_BAD_INPUT, "%s takes %s, not %zu. Measure them one after another.",
                             procedure->name, procedure->recordings_most == 1 ? "one recording" : "fewer recordings",
                             count);
    return DW_OK;
}

static void remark_value(DwSheet *sheet, const char *key, double value, const char *unit, DwRange plausible)
{
    if (dw_range_is_set(plausible) && (value < plausible.low || value > plausible.high))
        dw_sheet_remark(sheet, "%s = %g %s is unusual (%g to %g %s is common). Is it right?", key, value, unit,
                        plausible.low, plausible.high, unit);
}

// Says of each value outside its plausible range that it looks wrong.
static void remark_implausible(const DwProcedure *procedure, const DwInputs *inputs, DwSheet *sheet)
{
    for (size_t i = 0; procedure->quantities[i]; i++) {
        const DwQuantity *quantity = dw_quantity_find(procedure->quantities[i]);
        double first, second;
        for (size_t n = 0; dw_inputs_own(inputs, quantity, n, &first, &second); n++) {
            if (quantity->kind == DW_QUANTITY_NUMBER || quantity->kind == DW_QUANTITY_PAIR)
                remark_value(sheet, quantity->key, first, quantity->unit, quantity->plausible);
            if (quantity->kind == DW_QUANTITY_PAIR)
                remark_value(sheet, quantity->key, second, quantity->second_unit, quantity->second_plausible);
        }
    }
}

DwStatus dw_procedure_run(const DwProcedure *procedure, const DwRequest *request, DwSheet **sheet, DwMessage *message)
{
    DwStatus status = check_recordings(procedure, request->recording_count, message);
    if (status != DW_OK)
        return status;
    DwLimits limits;
    status = dw_limits_read(dw_inputs_word(request->inputs, "deck.class"), &limits, message);
    if (status != DW_OK) {
        dw_limits_clear(&limits);
        return status;
    }
    DwSheet *made = dw_sheet_new(procedure->name, procedure->title);
    for (size_t i = 0; procedure->quantities[i]; i++)
        dw_sheet_add_input(made, request->inputs, procedure->quantities[i]);
    remark_implausible(procedure, request->inputs, made);
    status = procedure->run(request, made, message);
    if (status == DW_OK)
        dw_limits_give(&limits, made);
    dw_limits_clear(&limits);
    if (status != DW_OK) {
        dw_sheet_free(made);
        return status;
    }
    dw_faults_apply(made);
    dw_settle_remark(made);
    *sheet = made;
    return DW_OK;
}
