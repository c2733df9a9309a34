// SPDX-License-Identifier: MIT
// The web bench: the shop's own pages from the bench computer.
#ifndef DW_WEB_BENCH_H
#define DW_WEB_BENCH_H

#include "web/server/server.h"

typedef struct DwBench DwBench;

// Serves all pages as dw_server_start() says. The caller ends it with dw_bench_stop().
DwStatus dw_bench_start(const DwServerSettings *settings, DwBench **bench, DwMessage *message);
// Finishes what is being answered, then ends. BENCH may be NULL.
void dw_bench_stop(DwBench *bench);
// Valid until BENCH is stopped.
const DwServer *dw_bench_server(const DwBench *bench);

#endif
