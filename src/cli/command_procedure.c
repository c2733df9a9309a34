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
    DwStatus status = dw_inputs_set_once(call->inputs, procedure->bare_word, call->words[0], message);
    call->word_count = 0;
    return status;
}

static DwStatus check_call(const DwProcedure *procedure, DwCall *call, DwMessage *message)
{
    DwStatus status = take_bare_words(procedure, call, message);
    if (status == DW_OK && call->out && !procedure->print)
        status =
            dw_fail(message, DW_BAD_INPUT, "%s prints no template; --chart FILE draws its sheet.", procedure->name);
    if (status == DW_OK && !call->job && (call->as || call->book || call->by))
        status = dw_fail(message, DW_BAD_INPUT, "--as, --book and --by go with --job NUMBER.");
    return status == DW_OK ? dw_call_check_destinations(call, message) : status;
}

static void print_sheet(const DwCall *call, const DwSheet *sheet)
{
    if (!call->json) {
        dw_print_sheet(sheet, stdout);
        return;
    }
    char *json = dw_sheet_json_write(sheet);
    puts(json);
    free(json);
}

// What fails after a sheet was measured is told, and the rest goes on.
static void tell(DwStatus status, const DwMessage *message, bool *failed)
{
    if (status == DW_OK)
        return;
    dw_complain(status, message);
    *failed = true;
}

// Keeps, prints and draws a sheet that was measured. Returned: the exit status.
static int deliver(const DwProcedure *procedure, const DwRequest *request, const DwCall *call, DwSheet *sheet)
{
    DwMessage kept = {""}, message = {""};
    bool failed = false;
    // Kept first: the shop's own limits come with it, and stand on the sheet that is printed.
    DwStatus keeping = call->job ? dw_call_keep(call, sheet, &kept) : DW_OK;
    print_sheet(call, sheet);
    fflush(stdout);
    tell(keeping, &kept, &failed);
    if (call->out)
        tell(procedure->print(request, call->out, &message), &message, &failed);
    if (call->chart)
        tell(dw_sheet_chart_write(sheet, call->chart, &message), &message, &failed);
    return failed ? DW_EXIT_FAILED : dw_sheet_is_flagged(sheet) ? DW_EXIT_FLAGGED : DW_EXIT_MEASURED;
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
        status = check_call(procedure, &call, &message);
    DwRequest request = {call.inputs, call.words, call.word_count};
    if (status == DW_OK)
        status = dw_procedure_run(procedure, &request, &sheet, &message);
    int exit_status = status == DW_OK ? deliver(procedure, &request, &call, sheet) : dw_complain(status, &message);
    dw_sheet_free(sheet);
    dw_call_clear(&call);
    return exit_status;
}
