// SPDX-License-Identifier: MIT
#include "audio/pipeline.h"

#include "base/memory.h"

#include <pthread.h>
#include <stdbool.h>
#include <string.h>

static const char kind[] = "Audio/Source";

// What watches a sound server does not tell that the server went away: it is begun
// anew after so long.
#define RENEWED (60 * G_USEC_PER_SEC)

// A part of GStreamer that knows devices. One that can watch them is started and
// asked from then on; it is never asked unstarted: each such question opens a
// connection to the sound server and not every part closes it again.
typedef struct {
    GstDeviceProvider *provider;
    bool watches, started;
    gint64 started_at; // microseconds of the monotonic clock
} Provider;

static struct {
    pthread_mutex_t lock;
    bool known;
    Provider *providers;
    size_t count;
} all = {.lock = PTHREAD_MUTEX_INITIALIZER};

// News of devices nobody reads would pile up.
static void let_news_go(GstDeviceProvider *provider)
{
    GstBus *bus = gst_device_provider_get_bus(provider);
    gst_bus_set_flushing(bus, TRUE);
    gst_object_unref(bus);
}

static void know_providers(void)
{
    GList *factories = gst_device_provider_factory_list_get_device_providers(GST_RANK_MARGINAL);
    for (GList *place = factories; place; place = place->next) {
        if (!gst_device_provider_factory_has_classes(place->data, kind))
            continue;
        GstDeviceProvider *provider = gst_device_provider_factory_get(place->data);
        if (!provider)
            continue;
        let_news_go(provider);
        all.providers = dw_memory_resize(all.providers, all.count + 1, sizeof *all.providers);
        all.providers[all.count++] = (Provider){provider, gst_device_provider_can_monitor(provider), false, 0};
    }
    gst_plugin_feature_list_free(factories);
    all.known = true;
}

// Whether one that is asked says that it knows the devices of PROVIDER better.
static bool is_hidden(const Provider *provider)
{
    const char *name = gst_plugin_feature_get_name(gst_device_provider_get_factory(provider->provider));
    bool hidden = false;
    for (size_t i = 0; i < all.count && !hidden; i++) {
        const Provider *other = &all.providers[i];
        gchar **names =
            other->watches && !other->started ? NULL : gst_device_provider_get_hidden_providers(other->provider);
        hidden = names && g_strv_contains((const gchar *const *)names, name);
        g_strfreev(names);
    }
    return hidden;
}

static GList *devices_of(const Provider *provider, GList *devices)
{
    if ((provider->watches && !provider->started) || is_hidden(provider))
        return devices;
    GList *found = gst_device_provider_get_devices(provider->provider);
    for (GList *place = found; place; place = place->next)
        if (gst_device_has_classes(place->data, kind))
            devices = g_list_append(devices, gst_object_ref(place->data));
    dw_devices_free(found);
    return devices;
}

// A sound server that does not answer now may later.
static void keep_watching(Provider *provider)
{
    gint64 now = g_get_monotonic_time();
    if (provider->started && now - provider->started_at < RENEWED)
        return;
    if (provider->started)
        gst_device_provider_stop(provider->provider);
    provider->started = gst_device_provider_start(provider->provider);
    provider->started_at = now;
}

GList *dw_devices_find(void)
{
    GList *devices = NULL;
    pthread_mutex_lock(&all.lock);
    if (!all.known)
        know_providers();
    for (size_t i = 0; i < all.count; i++)
        if (all.providers[i].watches)
            keep_watching(&all.providers[i]);
    for (size_t i = 0; i < all.count; i++)
        devices = devices_of(&all.providers[i], devices);
    pthread_mutex_unlock(&all.lock);
    return devices;
}

void dw_devices_free(GList *devices)
{
    g_list_free_full(devices, gst_object_unref);
}
