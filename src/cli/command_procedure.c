// SPDX-License-Identifier: MIT
#include "base/sheet_json.h"
#include "chart/sheet/sheet_chart.h"
#include "cli/command.h"

#include <stdlib.h>

// Gives a bare word to the quantity that the procedure reads it as.
static DwStatus take_bare_words(const DwProcedure *procedure, DwCall *call, DwMessage *message)
{
    if (!procedure->bare_word || call->word_count == 0 || procedure->recordings_most > 0)
        return DW_OK;
    if (call->word_count > 1)
        return dw_fail(message, DW_BAD_INPUT, "%s takes one word, not %zu.", procedure->name, call->word_count);
    DwStatus status = dw_inputs_set(call->inputs, procedure->bare_word, call->words[0], message);
    call->word_count = 0;
    return status;
}

static DwStatus run_call(const DwProcedure *procedure, DwCall *call, DwSheet **sheet, DwMessage *message)
{
    DwStatus status = take_bare_words(procedure, call, message);
    if (status == DW_OK && call->out && !procedure->print)
        status =
            dw_fail(message, DW_BAD_INPUT, "%s prints no template; --chart FILE draws its sheet.", procedure->name);
    if (status == DW_OK && !call->job && (call->as || call->book || call->by))
        status = dw_fail(message, DW_BAD_INPUT, "--as, --book and --by go with --job NUMBER.");
    if (status != DW_OK)
        return status;
    DwRequest request = {call->inputs, call->words, call->word_count};
    status = dw_procedure_run(procedure, &request, sheet, message);
    if (status != DW_OK)
        return status;
    if (call->out)
        status = procedure->print(&request, call->out, message);
    if (status == DW_OK && call->chart)
        status = dw_sheet_chart_write(*sheet, call->chart, message);
    if (status == DW_OK && call->job)
        status = dw_call_keep(call, *sheet, message);
    if (status != DW_OK) {
        dw_sheet_free(*sheet);
        *sheet = NULL;
    }
    return status;
}

int dw_procedure_command(const DwProcedure *procedure, int count, char **arguments)
{
    DwMessage message = {""};
    DwCall call;
    DwStatus status = dw_call_read(count, arguments, procedure, NULL, &call, &message);
    if (status != DW_OK)
        return dw_complain(status, &message);
    if (call.help) {
        dw_print_procedure_help(procedure, stdout);
        dw_call_clear(&call);
        return DW_EXIT_MEASURED;
    }
    DwSheet *sheet = NULL;
    if (call.job)
        status = dw_call_know(count, arguments, procedure, &call, &message);
    if (status == DW_OK)
        status = run_call(procedure, &call, &sheet, &message);
    int exit_status = DW_EXIT_MEASURED;
    if (status != DW_OK)
        exit_status = dw_complain(status, &message);
    else {
        if (call.json) {
            char *json = dw_sheet_json_write(sheet);
            puts(json);
            free(json);
        } else
            dw_print_sheet(sheet, stdout);
        if (dw_sheet_is_flagged(sheet))
            exit_status = DW_EXIT_FLAGGED;
    }
    dw_sheet_free(sheet);
    dw_call_clear(&call);
    return exit_status;
}
