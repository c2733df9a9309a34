// SPDX-License-Identifier: MIT
#include "web/server/watch.h"

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
    const DwWebRequest *request; // NULL between two
    bool allowed;
    uint64_t bytes_before; // received up to the end of the last request
    int64_t begun;         // when more than that was first seen; 0: not yet
} Watched;

struct DwWatch {
    pthread_mutex_t lock; // of all below
    pthread_cond_t woken;
    pthread_t thread;
    bool ending;
    Watched *first;
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

static void add(DwWatch *watch, struct MHD_Connection *connection, void **context)
{
    const union MHD_ConnectionInfo *info = MHD_get_connection_info(connection, MHD_CONNECTION_INFO_CONNECTION_FD);
    if (!info)
        return;
    Watched *watched = dw_memory_new(1, sizeof *watched);
    watched->watch = watch;
    watched->socket = info->connect_fd;
    *context = watched;
    pthread_mutex_lock(&watch->lock);
    watched->next = watch->first;
    watched->place = &watch->first;
    if (watch->first)
        watch->first->place = &watched->next;
    watch->first = watched;
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

void dw_watch_begin(struct MHD_Connection *connection, const DwWebRequest *request)
{
    Watched *watched = watched_of(connection);
    if (!watched)
        return;
    pthread_mutex_lock(&watched->watch->lock);
    watched->request = request;
    pthread_mutex_unlock(&watched->watch->lock);
}

void dw_watch_end(struct MHD_Connection *connection)
{
    Watched *watched = watched_of(connection);
    if (!watched)
        return;
    pthread_mutex_lock(&watched->watch->lock);
    watched->request = NULL;
    watched->allowed = false;
    watched->begun = 0;
    watched->bytes_before = bytes_received(watched->socket);
    pthread_mutex_unlock(&watched->watch->lock);
}

void dw_watch_allow(DwWatch *watch, const DwWebRequest *request)
{
    pthread_mutex_lock(&watch->lock);
    for (Watched *watched = watch->first; watched; watched = watched->next)
        if (watched->request == request)
            watched->allowed = true;
    pthread_mutex_unlock(&watch->lock);
}
