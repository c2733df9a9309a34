// SPDX-License-Identifier: MIT
// The two verbs of `bench` that need the web bench. deckwright-bench is linked with what does them, deckwright with
// what calls deckwright-bench: who only measures need not have the web bench and its libraries.
#ifndef DW_CLI_BENCH_CALL_H
#define DW_CLI_BENCH_CALL_H

#include "cli/book_call.h"

// Serves the shop's pages until the program is told to end.
DwStatus dw_bench_call_serve(DwBookCall *call, DwMessage *message);
// Asks for the shop's password and keeps it.
DwStatus dw_bench_call_password(DwBookCall *call, DwMessage *message);

#endif
