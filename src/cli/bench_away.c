// SPDX-License-Identifier: MIT
// What of `bench` needs the web bench, in the program that does without it: deckwright-bench is put in its place.
#include "base/place.h"
#include "cli/bench_call.h"

#include <errno.h>
#include <stdlib.h>
#include <string.h>
#include <unistd.h>

// Returns only where there is no such program.
static void become(const char *path, const DwBookCall *call)
{
    char bench[] = "bench", **all = calloc((size_t)call->argument_count + 3, sizeof *all);
    if (!all)
        abort();
    all[0] = (char *)path;
    all[1] = bench;
    memcpy(all + 2, call->arguments, (size_t)call->argument_count * sizeof *all);
    execv(path, all);
    free(all);
}

static DwStatus pass_on(DwBookCall *call, DwMessage *message)
{
    static const char *const places[] = {"deckwright-bench", "../libexec/deckwright/deckwright-bench"};
    dw_book_close(call->book);
    call->book = NULL;
    for (size_t i = 0; i < sizeof places / sizeof *places; i++) {
        char *path = dw_place_beside(places[i]);
        become(path, call);
        bool there = errno != ENOENT;
        if (there)
            dw_fail(message, DW_FAILED, "%s could not be started: %s.", path, strerror(errno));
        free(path);
        if (there)
            return DW_FAILED;
    }
    return dw_fail(message, DW_FAILED,
                   "The web bench is not installed: install the package deckwright-bench, or put the program "
                   "deckwright-bench beside deckwright.");
}

DwStatus dw_bench_call_serve(DwBookCall *call, DwMessage *message)
{
    return pass_on(call, message);
}

DwStatus dw_bench_call_password(DwBookCall *call, DwMessage *message)
{
    return pass_on(call, message);
}
