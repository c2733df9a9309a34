// SPDX-License-Identifier: MIT
// bench: serves the shop's own pages until it is told to end.
#include "cli/book_call.h"
#include "web/server.h"

#include <locale.h>
#include <signal.h>
#include <stdlib.h>
#include <string.h>

enum { USUAL_PORT = 8710 };

static const char *const keys[] = {"listen", "port", "name", "certificate", "key", NULL};

static DwStatus read_port(const DwBookCall *call, unsigned *port, DwMessage *message)
{
    const char *text = dw_book_call_operand(call, "port");
    *port = USUAL_PORT;
    if (!text)
        return DW_OK;
    char *end;
    unsigned long value = strtoul(text, &end, 10);
    if (end == text || *end || value > 65535)
        return dw_fail(message, DW_BAD_INPUT,
                       "'%s' is no port. Give a number from 1 to 65535, or 0 for any that is free.", text);
    *port = (unsigned)value;
    return DW_OK;
}

// Waits for the terminal's or the system's word to end.
static void wait_for_end(void)
{
    sigset_t set;
    sigemptyset(&set);
    sigaddset(&set, SIGINT);
    sigaddset(&set, SIGTERM);
    int got;
    sigwait(&set, &got);
}

// Before any thread starts, so that none of them takes the signals.
static void hold_signals(void)
{
    sigset_t set;
    sigemptyset(&set);
    sigaddset(&set, SIGINT);
    sigaddset(&set, SIGTERM);
    pthread_sigmask(SIG_BLOCK, &set, NULL);
}

static DwStatus serve(DwBookCall *call, DwMessage *message)
{
    DwServerSettings settings = {
        .book = call->folder,
        .address = dw_book_call_operand(call, "listen"),
        .name = dw_book_call_operand(call, "name"),
        .certificate = dw_book_call_operand(call, "certificate"),
        .key = dw_book_call_operand(call, "key"),
    };
    DwStatus status = dw_book_call_only(call, keys, message);
    if (status == DW_OK)
        status = read_port(call, &settings.port, message);
    if (status != DW_OK)
        return status;
    setlocale(LC_MESSAGES, "");
    hold_signals();
    DwServer *server;
    status = dw_server_start(&settings, &server, message);
    if (status != DW_OK)
        return status;
    printf("The bench is at %s\nCtrl+C ends it.\n", dw_server_url(server));
    fflush(stdout);
    wait_for_end();
    dw_server_stop(server);
    puts("The bench has ended.");
    return DW_OK;
}

static const DwVerb verbs[] = {
    {"serve", "[listen=ADDRESS] [port=NUMBER] [name=HOST] [certificate=FILE key=FILE]",
     "Serve the shop's pages, to this computer alone unless told where to listen.", 0, 0, serve, .operands = true,
     .makes = true},
    {NULL},
};

// `deckwright bench` alone serves; only operands and options may follow.
static int run_bench(int count, char **arguments)
{
    bool verb = count && arguments[0][0] != '-' && !strchr(arguments[0], '=');
    bool help = count && (strcmp(arguments[0], "--help") == 0 || strcmp(arguments[0], "-h") == 0);
    if (verb || help)
        return dw_book_call_run(&dw_command_bench, verbs, count, arguments);
    char serve_word[] = "serve", **all = calloc((size_t)count + 1, sizeof *all);
    if (!all)
        abort();
    all[0] = serve_word;
    for (int i = 0; i < count; i++)
        all[i + 1] = arguments[i];
    int status = dw_book_call_run(&dw_command_bench, verbs, count + 1, all);
    free(all);
    return status;
}

const DwCommand dw_command_bench = {"bench", "bench [listen=ADDRESS] [port=NUMBER] …",
                                    "Serve the web bench: the whole job on a screen, a tablet and a phone.", run_bench};
