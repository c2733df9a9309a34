// SPDX-License-Identifier: MIT
#include "web/server/private.h"

#include "base/memory.h"
#include "base/text.h"

#include <avahi-client/client.h>
#include <avahi-client/publish.h>
#include <avahi-common/alternative.h>
#include <avahi-common/error.h>
#include <avahi-common/malloc.h>
#include <avahi-common/thread-watch.h>

#include <pthread.h>
#include <stdio.h>
#include <stdlib.h>

enum { LABEL_MOST = 63 }; // bytes of a name in the network (RFC 1035, 2.3.4)

// The poll's thread alone touches all but what the lock is for.
struct DwAnnounce {
    AvahiThreadedPoll *poll;
    AvahiClient *client;
    AvahiEntryGroup *group;
    char *name;
    unsigned port;
    bool secure;
    pthread_mutex_t lock; // of what follows
    bool told;
    char host[DW_ANNOUNCE_HOST];
};

static void note(DwAnnounce *announce, bool told, const char *host)
{
    pthread_mutex_lock(&announce->lock);
    announce->told = told;
    snprintf(announce->host, sizeof announce->host, "%s", told && host ? host : "");
    pthread_mutex_unlock(&announce->lock);
}

static void offer(DwAnnounce *announce, AvahiClient *client);

static void rename_it(DwAnnounce *announce)
{
    char *other = avahi_alternative_service_name(announce->name);
    if (!other)
        return;
    free(announce->name);
    announce->name = dw_memory_text(other);
    avahi_free(other);
}

static void group_changed(AvahiEntryGroup *group, AvahiEntryGroupState state, void *context)
{
    DwAnnounce *announce = context;
    AvahiClient *client = avahi_entry_group_get_client(group);
    switch (state) {
    case AVAHI_ENTRY_GROUP_ESTABLISHED:
        note(announce, true, avahi_client_get_host_name_fqdn(client));
        return;
    case AVAHI_ENTRY_GROUP_COLLISION: // another bench in this network has the name
        rename_it(announce);
        announce->group = group;
        offer(announce, client);
        return;
    case AVAHI_ENTRY_GROUP_UNCOMMITED:
    case AVAHI_ENTRY_GROUP_REGISTERING:
    case AVAHI_ENTRY_GROUP_FAILURE:
        note(announce, false, NULL);
        return;
    }
}

static void offer(DwAnnounce *announce, AvahiClient *client)
{
    if (!announce->group)
        announce->group = avahi_entry_group_new(client, group_changed, announce);
    if (!announce->group)
        return;
    for (int tries = 0; tries < 16; tries++) {
        avahi_entry_group_reset(announce->group);
        int wrong = avahi_entry_group_add_service(announce->group, AVAHI_IF_UNSPEC, AVAHI_PROTO_INET, 0, announce->name,
                                                  announce->secure ? "_https._tcp" : "_http._tcp", NULL, NULL,
                                                  (uint16_t)announce->port, "path=/", NULL);
        if (wrong != AVAHI_ERR_COLLISION) {
            if (wrong == AVAHI_OK)
                avahi_entry_group_commit(announce->group);
            return;
        }
        rename_it(announce);
    }
}

static void client_changed(AvahiClient *client, AvahiClientState state, void *context)
{
    DwAnnounce *announce = context;
    switch (state) {
    case AVAHI_CLIENT_S_RUNNING:
        offer(announce, client);
        return;
    case AVAHI_CLIENT_S_COLLISION: // the computer's own name changes
    case AVAHI_CLIENT_S_REGISTERING:
        if (announce->group)
            avahi_entry_group_reset(announce->group);
        note(announce, false, NULL);
        return;
    case AVAHI_CLIENT_FAILURE:
    case AVAHI_CLIENT_CONNECTING:
        note(announce, false, NULL);
        break;
    }
    // It was started anew: its client too.
    if (state == AVAHI_CLIENT_FAILURE && avahi_client_errno(client) == AVAHI_ERR_DISCONNECTED) {
        announce->group = NULL;
        announce->client = NULL;
        avahi_client_free(client);
        announce->client = avahi_client_new(avahi_threaded_poll_get(announce->poll), AVAHI_CLIENT_NO_FAIL,
                                            client_changed, announce, NULL);
    }
}

DwAnnounce *dw_announce_new(const char *name, unsigned port, bool secure)
{
    DwAnnounce *announce = dw_memory_new(1, sizeof *announce);
    *announce = (DwAnnounce){.port = port, .secure = secure};
    announce->name = dw_text_format("%.*s", dw_text_whole(name, LABEL_MOST), name);
    pthread_mutex_init(&announce->lock, NULL);
    announce->poll = avahi_threaded_poll_new();
    if (announce->poll)
        announce->client = avahi_client_new(avahi_threaded_poll_get(announce->poll), AVAHI_CLIENT_NO_FAIL,
                                            client_changed, announce, NULL);
    if (announce->client && avahi_threaded_poll_start(announce->poll) == 0)
        return announce;
    dw_announce_free(announce);
    return NULL;
}

void dw_announce_free(DwAnnounce *announce)
{
    if (!announce)
        return;
    if (announce->poll)
        avahi_threaded_poll_stop(announce->poll);
    if (announce->client)
        avahi_client_free(announce->client); // and its group
    if (announce->poll)
        avahi_threaded_poll_free(announce->poll);
    pthread_mutex_destroy(&announce->lock);
    free(announce->name);
    free(announce);
}

bool dw_announce_host(DwAnnounce *announce, char host[DW_ANNOUNCE_HOST])
{
    if (!announce)
        return false;
    pthread_mutex_lock(&announce->lock);
    bool told = announce->told;
    snprintf(host, DW_ANNOUNCE_HOST, "%s", announce->host);
    pthread_mutex_unlock(&announce->lock);
    return told && *host;
}
