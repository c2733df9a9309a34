// SPDX-License-Identifier: MIT
#include "web/server/route.h"

#include "base/memory.h"
#include "base/text.h"
#include "procedure/registry/data_table.h"
#include "web/server/words.h"

#include <assert.h>
#include <pthread.h>
#include <sodium.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>

#define SCRIPT "text/javascript; charset=utf-8"
#define STYLE "text/css; charset=utf-8"

enum { YEAR_SECONDS = 31536000 };

typedef struct {
    const char *name;
    const char *type;
    char *bytes;
    size_t length;
    char path[96];
} Asset;

// Only what stands here is ever read: no path comes from a device.
static Asset assets[] = {
    {.name = "bench.css", .type = STYLE},
    {.name = "bench.js", .type = SCRIPT},
    {.name = "drafts.js", .type = SCRIPT},
    {.name = "photo.css", .type = STYLE},
    {.name = "photo.js", .type = SCRIPT},
    {.name = "photos.js", .type = SCRIPT},
    {.name = "sign.js", .type = SCRIPT},
    {.name = "touch.js", .type = SCRIPT},
    {.name = "job.css", .type = STYLE},
    {.name = "job.js", .type = SCRIPT},
    {.name = "keypad.js", .type = SCRIPT},
    {.name = "live.css", .type = STYLE},
    {.name = "live.js", .type = SCRIPT},
    {.name = "live-pictures.js", .type = SCRIPT},
    {.name = "measure.css", .type = STYLE},
    {.name = "measure.js", .type = SCRIPT},
    {.name = "send.js", .type = SCRIPT},
    {.name = "shop.css", .type = STYLE},
    {.name = "mark.svg", .type = "image/svg+xml"},
    {.name = "handbook.html", .type = "text/html; charset=utf-8"},
    {.name = "offline.js", .type = SCRIPT},
    {.name = "worker.js", .type = SCRIPT},
    {.name = "bench.webmanifest", .type = "application/manifest+json"},
};
enum { ASSETS = sizeof assets / sizeof *assets };

static void load(Asset *asset)
{
    char *path = dw_text_format("%s/web/%s", dw_data_folder(), asset->name);
    asset->bytes = dw_request_read(path, &asset->length);
    free(path);
    unsigned char hash[crypto_generichash_BYTES_MIN];
    crypto_generichash(hash, sizeof hash, (const unsigned char *)asset->bytes, asset->length, NULL, 0);
    char word[2 * sizeof hash + 1];
    sodium_bin2hex(word, sizeof word, hash, sizeof hash);
    snprintf(asset->path, sizeof asset->path, "/look/%s?%s", asset->name, word);
}

static void load_all(void)
{
    for (size_t i = 0; i < ASSETS; i++)
        load(&assets[i]);
}

static Asset *find(const char *name)
{
    static pthread_once_t once = PTHREAD_ONCE_INIT;
    pthread_once(&once, load_all);
    for (size_t i = 0; i < ASSETS; i++)
        if (strcmp(assets[i].name, name) == 0)
            return &assets[i];
    return NULL;
}

const char *dw_asset_path(const char *name)
{
    const Asset *asset = find(name);
    assert(asset);
    return asset->path;
}

static DwAnswer send_asset(const DwWebRequest *request)
{
    const Asset *asset = find(dw_request_path(request, "name"));
    if (!asset || !asset->bytes)
        return dw_answer_refusal(404, _("There is no such file."));
    char *copy = dw_memory_new(asset->length, 1);
    memcpy(copy, asset->bytes, asset->length);
    return dw_answer_bytes_for(asset->type, copy, asset->length, YEAR_SECONDS);
}

// At the top, for it may look after no page above its own place; asked for anew each time.
static DwAnswer send_worker(const DwWebRequest *request)
{
    (void)request;
    const Asset *asset = find("worker.js");
    char *copy = asset->bytes ? dw_memory_new(asset->length, 1) : NULL;
    if (!copy)
        return dw_answer_refusal(404, _("There is no such file."));
    memcpy(copy, asset->bytes, asset->length);
    return dw_answer_bytes(asset->type, copy, asset->length);
}

const DwWebRoute dw_routes_asset[] = {
    {"GET", "/look/:name", send_asset, true, .asset = true},
    {"GET", "/worker.js", send_worker, true, .asset = true},
    {0},
};
