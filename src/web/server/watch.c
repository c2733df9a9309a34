// SPDX-License-Identifier: MIT
#include "web/server/private.h"

#include "base/memory.h"

#include <linux/tcp.h>
#include <netinet/in.h>
#include <pthread.h>
#include <stdbool.h>
#include <stdint.h>
#include <stdlib.h>
#include <sys/socket.h>
#include <time.h>

typedef struct Watched {
    struct Watched *next, **place;
    DwWatch *watch;
    int socket;
    const DwIncoming *incoming; // NULL between two
    bool allowed;
    uint32_t address;
    bool here;             // from this computer
    bool known;            // a known device's
    bool dropped;          // let go; the library has not closed it yet
    uint64_t since;        // the count of answers and arrivals when it arrived or was last answered
    uint64_t bytes_before; // received up to the end of the last request
    int64_t begun;         // when more than that was first seen; 0: not yet
} Watched;

struct DwWatch {
    pthread_mutex_t lock; // of all below
    pthread_cond_t woken;
    pthread_t thread;
    bool ending;
    Watched *first;
    uint64_t count; // of answers and arrivals
};

static int64_t seconds_now(void)
{
    struct timespec now;
    clock_gettime(CLOCK_MONOTONIC, &now);
    return now.tv_sec;
}

static uint64_t bytes_received(int socket)
{
    struct tcp_info info = {0};
    socklen_t size = sizeof info;
    return getsockopt(socket, IPPROTO_TCP, TCP_INFO, &info, &size) == 0 ? info.tcpi_bytes_received : 0;
}

// The library finds the connection ended and clears up after it.
static void look_at(Watched *watched)
{
    if (watched->allowed)
        return;
    uint64_t bytes = bytes_received(watched->socket) - watched->bytes_before;
    int64_t now = seconds_now();
    if (bytes && !watched->begun)
        watched->begun = now;
    if (bytes > DW_WATCH_BYTES || (watched->begun && now - watched->begun > DW_WATCH_SECONDS))
        shutdown(watched->socket, SHUT_RDWR);
}

static bool is_stranger(const Watched *watched)
{
    return !watched->here && !watched->known;
}

static bool any(const Watched *watched)
{
    (void)watched;
    return true;
}

static bool is_elsewhere(const Watched *watched)
{
    return !watched->here;
}

// How many connections of a KIND there are, and of which address the most; of several
// that have as many, of that which came first: the newest stand first in the list.
static size_t count_kind(const DwWatch *watch, bool (*kind)(const Watched *watched), uint32_t *busiest)
{
    size_t all = 0, most = 0;
    for (const Watched *one = watch->first; one; one = one->next) {
        if (one->dropped || !kind(one))
            continue;
        all++;
        size_t same = 0;
        for (const Watched *other = one; other; other = other->next)
            same += !other->dropped && kind(other) && other->address == one->address;
        if (same >= most) {
            most = same;
            *busiest = one->address;
        }
    }
    return all;
}

// Lets go of the connection of that KIND and ADDRESS that was answered nothing for
// longest; one whose request is being answered only when there is no other.
static void let_go(DwWatch *watch, bool (*kind)(const Watched *watched), uint32_t address)
{
    Watched *found = NULL;
    for (Watched *one = watch->first; one; one = one->next) {
        if (one->dropped || !kind(one) || one->address != address)
            continue;
        bool better = !found || (found->allowed && !one->allowed) ||
                      (found->allowed == one->allowed && one->since < found->since);
        if (better)
            found = one;
    }
    if (!found)
        return;
    found->dropped = true;
    shutdown(found->socket, SHUT_RDWR);
}

// Makes room after ADDED has come.
static void share_out(DwWatch *watch, const Watched *added)
{
    size_t same = 0;
    uint32_t busiest = 0;
    for (const Watched *one = watch->first; one; one = one->next)
        same += !one->dropped && one->address == added->address;
    if (same > DW_WATCH_OF_ADDRESS)
        let_go(watch, any, added->address);
    if (count_kind(watch, is_stranger, &busiest) > DW_WATCH_STRANGERS)
        let_go(watch, is_stranger, busiest);
    if (count_kind(watch, any, &busiest) > DW_WATCH_ALL && count_kind(watch, is_elsewhere, &busiest))
        let_go(watch, is_elsewhere, busiest);
}

static void *run(void *cls)
{
    DwWatch *watch = cls;
    pthread_mutex_lock(&watch->lock);
    while (!watch->ending) {
        for (Watched *watched = watch->first; watched; watched = watched->next)
            look_at(watched);
        struct timespec until;
        clock_gettime(CLOCK_REALTIME, &until);
        until.tv_nsec += DW_WATCH_PERIOD_MS * 1000000L;
        until.tv_sec += until.tv_nsec / 1000000000;
        until.tv_nsec %= 1000000000;
        pthread_cond_timedwait(&watch->woken, &watch->lock, &until);
    }
    pthread_mutex_unlock(&watch->lock);
    return NULL;
}

DwWatch *dw_watch_new(void)
{
    DwWatch *watch = dw_memory_new(1, sizeof *watch);
    pthread_mutex_init(&watch->lock, NULL);
    pthread_cond_init(&watch->woken, NULL);
    if (pthread_create(&watch->thread, NULL, run, watch) != 0)
        abort(); // as without memory
    return watch;
}

void dw_watch_free(DwWatch *watch)
{
    if (!watch)
        return;
    pthread_mutex_lock(&watch->lock);
    watch->ending = true;
    pthread_cond_signal(&watch->woken);
    pthread_mutex_unlock(&watch->lock);
    pthread_join(watch->thread, NULL);
    pthread_cond_destroy(&watch->woken);
    pthread_mutex_destroy(&watch->lock);
    free(watch);
}

static uint32_t address_of(int (*ask)(int, struct sockaddr *, socklen_t *), int socket)
{
    struct sockaddr_in place = {0};
    socklen_t size = sizeof place;
    return ask(socket, (struct sockaddr *)&place, &size) == 0 ? ntohl(place.sin_addr.s_addr) : 0;
}

// A program of this computer comes from the address it calls, or from 127.0.0.1.
static void place_of(Watched *watched)
{
    watched->address = address_of(getpeername, watched->socket);
    watched->here = watched->address == INADDR_LOOPBACK || watched->address == address_of(getsockname, watched->socket);
}

static void add(DwWatch *watch, struct MHD_Connection *connection, void **context)
{
    const union MHD_ConnectionInfo *info = MHD_get_connection_info(connection, MHD_CONNECTION_INFO_CONNECTION_FD);
    if (!info)
        return;
    Watched *watched = dw_memory_new(1, sizeof *watched);
    watched->watch = watch;
    watched->socket = info->connect_fd;
    place_of(watched);
    *context = watched;
    pthread_mutex_lock(&watch->lock);
    watched->next = watch->first;
    watched->place = &watch->first;
    if (watch->first)
        watch->first->place = &watched->next;
    watch->first = watched;
    watched->since = ++watch->count;
    share_out(watch, watched);
    pthread_mutex_unlock(&watch->lock);
}

// Before the library closes the socket, whose number another may get then.
static void drop(DwWatch *watch, Watched *watched)
{
    pthread_mutex_lock(&watch->lock);
    *watched->place = watched->next;
    if (watched->next)
        watched->next->place = watched->place;
    pthread_mutex_unlock(&watch->lock);
    free(watched);
}

void dw_watch_connection(void *cls, struct MHD_Connection *connection, void **context,
                         enum MHD_ConnectionNotificationCode code)
{
    if (code == MHD_CONNECTION_NOTIFY_STARTED)
        add(cls, connection, context);
    else if (*context) {
        drop(cls, *context);
        *context = NULL;
    }
}

static Watched *watched_of(struct MHD_Connection *connection)
{
    const union MHD_ConnectionInfo *info = MHD_get_connection_info(connection, MHD_CONNECTION_INFO_SOCKET_CONTEXT);
    return info ? info->socket_context : NULL;
}

void dw_watch_begin(struct MHD_Connection *connection, const DwIncoming *incoming)
{
    Watched *watched = watched_of(connection);
    if (!watched)
        return;
    pthread_mutex_lock(&watched->watch->lock);
    watched->incoming = incoming;
    pthread_mutex_unlock(&watched->watch->lock);
}

void dw_watch_end(struct MHD_Connection *connection)
{
    Watched *watched = watched_of(connection);
    if (!watched)
        return;
    pthread_mutex_lock(&watched->watch->lock);
    watched->incoming = NULL;
    watched->allowed = false;
    watched->begun = 0;
    watched->since = ++watched->watch->count;
    watched->bytes_before = bytes_received(watched->socket);
    pthread_mutex_unlock(&watched->watch->lock);
}

static void mark_known(Watched *watched)
{
    watched->known = true;
}

static void mark_allowed(Watched *watched)
{
    watched->allowed = true;
}

static void mark_request(DwWatch *watch, const DwIncoming *incoming, void (*mark)(Watched *watched))
{
    pthread_mutex_lock(&watch->lock);
    for (Watched *watched = watch->first; watched; watched = watched->next)
        if (watched->incoming == incoming)
            mark(watched);
    pthread_mutex_unlock(&watch->lock);
}

void dw_watch_know(DwWatch *watch, const DwIncoming *incoming)
{
    mark_request(watch, incoming, mark_known);
}

void dw_watch_allow(DwWatch *watch, const DwIncoming *incoming)
{
    mark_request(watch, incoming, mark_allowed);
}
