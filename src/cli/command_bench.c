// SPDX-License-Identifier: MIT
// bench: serves the shop's own pages until it is told to end; sets the password
// that other devices show, lists them and sends them away.
#include "book/shop/device.h"
#include "cli/bench_call.h"
#include "cli/tell.h"

#include <stdio.h>

static DwStatus list_devices(DwBookCall *call, DwMessage *message)
{
    static const char *const columns[] = {"name", "paired_at", "last_seen_at", "revoked_at", NULL};
    return dw_book_call_list(call, &dw_device_entity, columns, message);
}

static DwStatus revoke_device(DwBookCall *call, DwMessage *message)
{
    int64_t number;
    DwStatus status = dw_book_call_number(call->words[0], &number, message);
    if (status == DW_OK)
        status = dw_device_revoke(call->book, number, message);
    if (status == DW_OK)
        dw_tell(stdout, "The device was removed.\n");
    return status;
}

static const DwVerb *bench_verbs(void)
{
    static const DwVerb verbs[] = {
        {"serve", "[listen=ADDRESS] [port=NUMBER] [name=HOST] [certificate=FILE key=FILE] [open=yes]",
         "Serve the shop's pages, to this computer alone unless told where to listen.", 0, 0, dw_bench_call_serve,
         .operands = true, .makes = true},
        {"password", "", "Set the password that other devices show once: typed twice, or one line of a pipe.", 0, 0,
         dw_bench_call_password},
        {"devices", "", "List the devices that were paired.", 0, 0, list_devices, .json = true},
        {"revoke", "NUMBER", "Remove a paired device.", 1, 1, revoke_device},
        {NULL},
    };
    return verbs;
}

const DwCommand dw_command_bench = {"bench", "bench [VERB] …",
                                    "Serve the web bench: the whole job on a screen, a tablet and a phone.",
                                    .verbs = bench_verbs, .usual = "serve"};
