// SPDX-License-Identifier: MIT
// ears: what a customer can hear of two recordings of one groove, in files.
#include "cli/command.h"
#include "cli/help.h"
#include "procedure/music/ears.h"
#include "cli/tell.h"

#include <errno.h>
#include <math.h>
#include <stdio.h>
#include <string.h>
#include <sys/stat.h>
#include <unistd.h>

static void print_wow(const char *recording, const DwEarsWow *wow)
{
    if (isnan(wow->percent))
        dw_tell(stdout, "  The %s recording: its music does not tell how much it wows.\n", dw_said(recording));
    else if (wow->found)
        dw_tell(stdout, "  The %s recording wows %.3f %% (± %.3f) once a turn, by its held notes.\n",
                dw_said(recording), wow->percent, wow->off);
    else
        dw_tell(stdout, "  The %s recording wows %.3f %% once a turn at most, by its held notes.\n", dw_said(recording),
                wow->percent);
}

// The turns tell how the two differ, not whose it is: a customer must not hear the wrong one as worn.
static void print_whose(const DwEars *ears)
{
    int worse = dw_ears_worse(ears);
    if (worse == 0)
        dw_tell(stdout, "The first is the worse of the two:\n");
    else if (worse == 1)
        dw_tell(stdout,
                "Careful: the second, given as left, is the worse of the two. Are they exchanged? Then give them the "
                "other way round.\n");
    else
        dw_tell(stdout, "Which of the two is the worse stays open:\n");
    print_wow(N_("first"), &ears->wow[0]);
    print_wow(N_("second"), &ears->wow[1]);
}

static void print(const char *folder, const DwEars *ears)
{
    static const char *const words[DW_EARS_PIECES] = {
        [DW_EARS_WORST] = N_("of the first the turn that differs most, four times"),
        [DW_EARS_BEST] = N_("of the first the turn that differs least, four times"),
        [DW_EARS_FIRST] = N_("the passage about the first of these, as received"),
        [DW_EARS_SECOND] = N_("the same passage as left"),
    };
    const DwTwinTurns *turns = &ears->turns;
    dw_tell(stdout, "The two differ most in the turn at %.1f s of the first (%.3f %% rms), least at %.1f s (%.3f %%)\n",
            turns->worst_s, turns->worst_percent, turns->best_s, turns->best_percent);
    for (int i = 0; i < DW_EARS_PIECES; i++)
        dw_tell(stdout, "  %s/%s  %s, %+.1f dB\n", folder, dw_ears_file((DwEarsPiece)i), dw_said(words[i]),
                ears->lufs - ears->was_lufs[i]);
    dw_tell(stdout, "All at %.1f LUFS (ITU-R BS.1770).\n", ears->lufs);
    print_whose(ears);
}

// Makes the folder PATH where there is none, which *MADE says.
static DwStatus make_folder(const char *path, bool *made, DwMessage *message)
{
    struct stat there;
    *made = mkdir(path, 0777) == 0;
    if (*made || (errno == EEXIST && stat(path, &there) == 0 && S_ISDIR(there.st_mode)))
        return DW_OK;
    return dw_fail(message, DW_FAILED, "%s: cannot make the folder (%s).", path, strerror(errno));
}

static DwStatus make(const DwCall *call, DwMessage *message)
{
    DwEars ears;
    if (call->word_count != 2 || !call->out)
        return dw_fail(message, DW_BAD_INPUT, "ears needs two recordings of one groove and a folder: deckwright %s.",
                       dw_command_ears.usage);
    if (call->chart || call->job || call->as || call->json)
        return dw_fail(message, DW_BAD_INPUT, "ears writes files into a folder and nothing else; leave out %s.",
                       call->chart  ? "--chart"
                       : call->json ? "--json"
                                    : "--job");
    DwStatus status = dw_destination_check("--out", call->out, message);
    bool made = false;
    if (status == DW_OK)
        status = make_folder(call->out, &made, message);
    const DwRequest request = {call->inputs, call->words, 2};
    if (status == DW_OK)
        status = dw_ears_make(&request, call->out, &ears, message);
    if (status == DW_OK)
        print(call->out, &ears);
    else if (made)
        rmdir(call->out); // it stays where something is in it
    return status;
}

static int run(int count, char **arguments)
{
    DwMessage message = {""};
    DwCall call;
    DwStatus status = dw_call_read(count, arguments, NULL, NULL, &call, &message);
    if (status != DW_OK)
        return dw_complain(status, &message);
    if (call.help)
        dw_help_command(&dw_command_ears, stdout);
    else
        status = make(&call, &message);
    dw_call_clear(&call);
    return status == DW_OK ? DW_EXIT_MEASURED : dw_complain(status, &message);
}

const DwCommand dw_command_ears = {
    .name = "ears",
    .usage = "ears RECEIVED LEFT --out FOLDER [deck.speed=…]",
    .summary = "Write what a customer can hear of two recordings of one groove: worst and best turn, one passage of "
               "both, equally loud.",
    .run = run,
};
