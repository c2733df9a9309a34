// SPDX-License-Identifier: MIT
// plan: looks over the plan of a test record's side, or proposes one from a recording.
#include "base/plan/band_plan.h"
#include "cli/command.h"
#include "cli/help.h"
#include "procedure/side/plan_file.h"
#include "procedure/side/plan_guess.h"
#include "cli/tell.h"

#include <errno.h>
#include <math.h>
#include <stdlib.h>
#include <string.h>

static void print_trouble(const char *name, const DwPlanTrouble *trouble)
{
    if (trouble->line)
        printf("%s:%u: %s%s\n", name, trouble->line, trouble->doubtful ? dw_said("doubtful: ") : "", trouble->said);
    else
        printf("%s: %s%s\n", name, trouble->doubtful ? dw_said("doubtful: ") : "", trouble->said);
}

// Prints all that is wrong with the plan called NAME.
static int check(const char *name)
{
    DwBandPlan plan;
    DwPlanTroubles troubles;
    DwMessage message = {""};
    char *path = dw_plan_file_path(name);
    DwStatus status = dw_band_plan_examine(path, &plan, &troubles, &message);
    free(path);
    if (status != DW_OK)
        return dw_complain(status, &message);
    size_t wrong = 0;
    for (size_t i = 0; i < troubles.count; i++) {
        print_trouble(name, &troubles.items[i]);
        wrong += !troubles.items[i].doubtful;
    }
    if (troubles.count == 0)
        dw_tell(stdout, "%s: %zu bands, %.1f min; nothing is wrong with it.\n", name, plan.count,
                dw_band_plan_start_s(&plan, plan.count) / 60);
    int exit_status = wrong ? DW_EXIT_BAD_INPUT : troubles.count ? DW_EXIT_FLAGGED : DW_EXIT_MEASURED;
    dw_band_plan_clear(&plan);
    dw_plan_troubles_clear(&troubles);
    return exit_status;
}

// The plan with a head that says what was assumed.
static void print_guess(const DwPlanGuess *guess, FILE *stream)
{
    char *text = dw_band_plan_write(&guess->plan);
    dw_tell(stream,
            "# Proposed from a recording. Compare it with the record's sleeve or label before use.\n"
            "# Speed: played %+.2f %% off nominal, if %zu of its %zu tones are of a usual frequency.\n",
            100 * (guess->speed_ratio - 1), guess->tones_that_fit, guess->tones);
    if (guess->reference_band)
        dw_tell(stream, "# Levels: assumed that band %u is cut at %g cm/s. Correct them all if it is not.\n",
                guess->reference_band, guess->plan.reference_cm_s);
    dw_tell(stream, "# Low ends of sweeps, how they are cut, and left and right are as heard.\n");
    fputs(text, stream);
    free(text);
}

static DwStatus write_guess(const DwPlanGuess *guess, const char *path, DwMessage *message)
{
    FILE *stream = fopen(path, "wx"); // what a technician has written is not overwritten
    if (!stream && errno == EEXIST)
        return dw_fail(message, DW_BAD_INPUT, "%s is there already and is not overwritten. Give --out another name.",
                       path);
    if (!stream)
        return dw_fail(message, DW_FAILED, "%s: cannot be written (%s).", path, strerror(errno));
    print_guess(guess, stream);
    bool failed = ferror(stream) != 0;
    failed = fclose(stream) != 0 || failed;
    return failed ? dw_fail(message, DW_FAILED, "%s: cannot be written (%s).", path, strerror(errno)) : DW_OK;
}

static int propose(const DwCall *call)
{
    DwPlanGuess guess;
    DwMessage message = {""};
    DwStatus status = dw_plan_guess_read(call->words[1], call->inputs, &guess, &message);
    if (status != DW_OK)
        return dw_complain(status, &message);
    if (call->out)
        status = write_guess(&guess, call->out, &message);
    else
        print_guess(&guess, stdout);
    dw_band_plan_clear(&guess.plan);
    return status == DW_OK ? DW_EXIT_MEASURED : dw_complain(status, &message);
}

static int run(int count, char **arguments)
{
    DwMessage message = {""};
    DwCall call;
    DwStatus status = dw_call_read(count, arguments, NULL, NULL, &call, &message);
    if (status != DW_OK)
        return dw_complain(status, &message);
    int exit_status;
    if (call.help) {
        dw_help_command(&dw_command_plan, stdout);
        exit_status = DW_EXIT_MEASURED;
    } else if (call.json || call.chart || call.job || call.as || call.book || call.by)
        exit_status = dw_complain(DW_BAD_INPUT, &(DwMessage){"plan takes no option but --out, and that with guess."});
    else if (call.word_count == 2 && strcmp(call.words[0], "check") == 0 && !call.out)
        exit_status = check(call.words[1]);
    else if (call.word_count == 2 && strcmp(call.words[0], "guess") == 0)
        exit_status = propose(&call);
    else
        exit_status = dw_complain(DW_BAD_INPUT, &(DwMessage){"plan needs what to do: deckwright plan check PLAN, or "
                                                             "deckwright plan guess RECORDING [--out PLAN]."});
    dw_call_clear(&call);
    return exit_status;
}

const DwCommand dw_command_plan = {
    .name = "plan",
    .usage = "plan check PLAN | plan guess RECORDING [--out PLAN]",
    .summary = "Look over the plan of a record's side, or propose one from a recording.",
    .run = run,
};
