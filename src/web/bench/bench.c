// SPDX-License-Identifier: MIT
#include "web/bench/bench.h"

#include "base/memory.h"
#include "web/job/pages.h"
#include "web/live/live_room.h"
#include "web/live/pages.h"
#include "web/measure/pages.h"
#include "web/measure/result.h"
#include "web/page/page.h"
#include "web/paper/pages.h"
#include "web/photo/pages.h"
#include "web/photo/pictures.h"
#include "web/record/pages.h"
#include "web/shop/pages.h"
#include "web/touch/pages.h"

#include <stdlib.h>

struct DwBench {
    DwSite site;
    DwServer *server;
};

// By rooms.
static const DwWebRoute *const routes[] = {
    // server
    dw_routes_arriving,
    dw_routes_asset,
    // job
    dw_routes_belt,
    dw_routes_board,
    dw_routes_guide,
    dw_routes_job,
    dw_routes_job_act,
    dw_routes_job_move,
    dw_routes_job_new,
    dw_routes_job_plan,
    dw_routes_journal,
    dw_routes_left,
    dw_routes_setup,
    // live
    dw_routes_live,
    dw_routes_live_keep,
    // measure
    dw_routes_ears,
    dw_routes_measure,
    dw_routes_sheet,
    dw_routes_sheet_files,
    dw_routes_sheet_supply,
    // paper
    dw_routes_papers,
    dw_routes_sign,
    // photo
    dw_routes_photo,
    dw_routes_photo_frame,
    dw_routes_photo_measure,
    dw_routes_photos,
    dw_routes_picture,
    // record
    dw_routes_book,
    dw_routes_customer,
    dw_routes_find,
    dw_routes_merge,
    dw_routes_record,
    // shop
    dw_routes_app,
    dw_routes_backup,
    dw_routes_devices,
    dw_routes_enter,
    dw_routes_lock,
    dw_routes_months,
    dw_routes_people,
    dw_routes_settings,
    dw_routes_shop,
    // touch
    dw_routes_touch,
    NULL,
};

DwStatus dw_bench_start(const DwServerSettings *settings, DwBench **bench, DwMessage *message)
{
    DwBench *made = dw_memory_new(1, sizeof *made);
    made->site = (DwSite){.routes = routes,
                          .draw_refusal = dw_page_refusal,
                          .pictures = dw_pictures_new(),
                          .results = dw_results_new(),
                          .live = dw_live_room_new()};
    DwStatus status = dw_server_start(settings, &made->site, &made->server, message);
    if (status == DW_OK) {
        char *folder = dw_live_room_folder(settings->book);
        dw_live_room_recall(made->site.live, folder);
        free(folder);
        *bench = made;
    } else
        dw_bench_stop(made);
    return status;
}

void dw_bench_stop(DwBench *bench)
{
    if (!bench)
        return;
    dw_server_stop(bench->server);
    dw_pictures_free(bench->site.pictures);
    dw_results_free(bench->site.results);
    dw_live_room_free(bench->site.live);
    free(bench);
}

const DwServer *dw_bench_server(const DwBench *bench)
{
    return bench->server;
}
