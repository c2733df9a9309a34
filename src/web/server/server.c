// SPDX-License-Identifier: MIT
#include "web/server/server.h"

#include "base/memory.h"
#include "base/text.h"
#include "web/server/password.h"
#include "web/live/live_room.h"
#include "web/server/private.h"
#include "web/page/words.h"

#include <arpa/inet.h>
#include <signal.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>

enum { USUAL_PORT = 8710, LAST_PRIORITY = 100 };

const DwWebRoute *const dw_routes[] = {
    dw_routes_asset,
    dw_routes_backup,
    dw_routes_belt,
    dw_routes_board,
    dw_routes_book,
    dw_routes_customer,
    dw_routes_devices,
    dw_routes_enter,
    dw_routes_find,
    dw_routes_job,
    dw_routes_job_act,
    dw_routes_job_new,
    dw_routes_journal,
    dw_routes_live,
    dw_routes_live_keep,
    dw_routes_measure,
    dw_routes_papers,
    dw_routes_photo,
    dw_routes_photo_measure,
    dw_routes_photos,
    dw_routes_picture,
    dw_routes_record,
    dw_routes_settings,
    dw_routes_setup,
    dw_routes_sheet,
    dw_routes_sheet_files,
    dw_routes_shop,
    dw_routes_sign,
    NULL,
};

typedef struct {
    DwServer *server;
    const DwWebRoute *route;
} Bound;

static void nothing_there(DwVisit *visit)
{
    dw_visit_refuse(visit, 404, _("There is no such page. The address may be mistyped, or the entry is gone."));
}

static void wrong_method(DwVisit *visit)
{
    dw_visit_tell(visit, "Allow", "GET, HEAD, POST");
    dw_visit_refuse(visit, 405, _("This page cannot be asked for in this way. Nothing was changed."));
}

// Nothing is given away by either, and neither begins a session.
static const DwWebRoute missing = {"*", "", nothing_there, true, .asset = true};
static const DwWebRoute not_so = {"*", "", wrong_method, true, .asset = true};

static int answer(const struct _u_request *request, struct _u_response *response, void *user)
{
    Bound *bound = user;
    dw_guard_answer(bound->server, bound->route, request, response);
    return U_CALLBACK_COMPLETE;
}

static int answer_missing(const struct _u_request *request, struct _u_response *response, void *user)
{
    dw_guard_answer(user, &missing, request, response);
    return U_CALLBACK_COMPLETE;
}

DwStatus dw_server_lend_book(DwServer *server, DwBook **book, DwMessage *message)
{
    *book = NULL;
    pthread_mutex_lock(&server->books_lock);
    if (server->book_count)
        *book = server->books[--server->book_count];
    pthread_mutex_unlock(&server->books_lock);
    DwStatus status = *book ? DW_OK : dw_book_open(server->folder, book, message);
    if (status == DW_OK)
        dw_book_set_away(*book, true); // until it is known who asks
    return status;
}

void dw_server_return_book(DwServer *server, DwBook *book)
{
    pthread_mutex_lock(&server->books_lock);
    bool kept = server->book_count < DW_BOOKS_KEPT;
    if (kept)
        server->books[server->book_count++] = book;
    pthread_mutex_unlock(&server->books_lock);
    if (!kept)
        dw_book_close(book);
}

// How many parts of PATTERN stand for anything.
static unsigned open_parts(const char *pattern)
{
    unsigned parts = 0;
    for (; *pattern; pattern++)
        parts += *pattern == ':';
    return parts;
}

static void add_route(DwServer *server, const char *method, const DwWebRoute *route, unsigned priority, Bound *bound)
{
    ulfius_add_endpoint_by_val(&server->instance, method, NULL, route->pattern, priority, answer, bound);
}

// Ulfius copies an endpoint but keeps its user data as it is: BOUNDS outlives it.
// Of what matches a request the first priority answers: "/job/new" before
// "/job/:number"; each page by its own method, HEAD as GET (the library leaves
// the body out), any other way last.
static void add_routes(DwServer *server)
{
    size_t count = 0;
    for (size_t i = 0; dw_routes[i]; i++)
        for (const DwWebRoute *route = dw_routes[i]; route->method; route++)
            count++;
    Bound *bounds = dw_memory_new(count + 1, sizeof *bounds), *other = bounds + count;
    server->bounds = bounds;
    *other = (Bound){server, &not_so};
    for (size_t i = 0; dw_routes[i]; i++)
        for (const DwWebRoute *route = dw_routes[i]; route->method; route++) {
            *bounds = (Bound){server, route};
            unsigned parts = open_parts(route->pattern);
            add_route(server, route->method, route, parts, bounds);
            if (strcmp(route->method, "GET") == 0)
                add_route(server, "HEAD", route, parts, bounds);
            add_route(server, "*", route, LAST_PRIORITY, other);
            bounds++;
        }
    ulfius_set_default_endpoint(&server->instance, answer_missing, server);
}

// The book can be opened, and has a password when others can reach it.
static DwStatus check_book(const DwServer *server, DwMessage *message)
{
    DwBook *book;
    DwStatus status = dw_book_open(server->folder, &book, message);
    if (status != DW_OK)
        return status;
    if (!server->loopback && !dw_password_is_set(book))
        status = dw_fail(message, DW_BAD_INPUT,
                         "Whoever reaches the bench from another device must show a password, and the book has none. "
                         "Set one with 'deckwright bench password', then start again.");
    dw_book_close(book);
    return status;
}

static DwStatus prepare(DwServer *server, const DwServerSettings *settings, const char *address, DwMessage *message)
{
    server->place = (struct sockaddr_in){.sin_family = AF_INET, .sin_port = htons((uint16_t)settings->port)};
    if (inet_pton(AF_INET, address, &server->place.sin_addr) != 1)
        return dw_fail(message, DW_BAD_INPUT,
                       "'%s' is no address to listen at. Give one such as 192.168.1.20, or 0.0.0.0.", address);
    server->loopback = ntohl(server->place.sin_addr.s_addr) >> 24 == 127;
    DwStatus status = check_book(server, message);
    if (status == DW_OK)
        status = dw_access_new(&server->access, message);
    if (status != DW_OK)
        return status;
    // Before anybody can ask; the system's own choice of a port is known only after.
    dw_host_name(server, address, settings->name);
    server->outside_name = dw_memory_text(settings->name);
    server->port = settings->port;
    server->uploads = dw_uploads_new(server->folder);
    server->pictures = dw_pictures_new();
    server->results = dw_results_new();
    server->live = dw_live_room_new();
    server->watch = dw_watch_new();
    dw_words_init();
    // Ulfius refuses a port 0, by which the system chooses; the place's own port is the one that counts.
    if (ulfius_init_instance(&server->instance, settings->port ? settings->port : USUAL_PORT, &server->place, NULL) !=
        U_OK)
        return dw_fail(message, DW_FAILED, "The web server could not be made ready.");
    server->ready = true;
    server->instance.max_post_body_size = DW_MOST_BODY;
    server->instance.max_post_param_size = DW_MOST_FIELD;
    ulfius_set_upload_file_callback_function(&server->instance, dw_uploads_take, server);
    add_routes(server);
    return dw_listen_begin(server, settings, message);
}

DwStatus dw_server_start(const DwServerSettings *settings, DwServer **server, DwMessage *message)
{
    const char *address = settings->address ? settings->address : "127.0.0.1";
    DwServer *made = dw_memory_new(1, sizeof *made);
    made->folder = dw_memory_text(settings->book);
    pthread_mutex_init(&made->books_lock, NULL);
    signal(SIGPIPE, SIG_IGN); // a device that goes away in the middle is no reason to end
    DwStatus status = prepare(made, settings, address, message);
    if (status != DW_OK) {
        dw_server_stop(made);
        return status;
    }
    bool here = made->loopback || made->place.sin_addr.s_addr == htonl(INADDR_ANY);
    made->outside = dw_host_outside(made);
    made->url = here ? dw_text_format("%s://%s:%u/", made->secure ? "https" : "http",
                                      made->loopback ? address : "127.0.0.1", made->port)
                     : dw_text_format("%s/", made->outside);
    *server = made;
    return DW_OK;
}

void dw_server_stop(DwServer *server)
{
    if (!server)
        return;
    if (server->ready)
        dw_listen_end(server);
    for (size_t i = 0; i < server->book_count; i++)
        dw_book_close(server->books[i]);
    for (size_t i = 0; i < DW_HOSTS_MOST; i++)
        free(server->names[i]);
    dw_watch_free(server->watch);
    dw_uploads_free(server->uploads);
    dw_pictures_free(server->pictures);
    dw_results_free(server->results);
    dw_live_room_free(server->live);
    dw_access_free(server->access);
    pthread_mutex_destroy(&server->books_lock);
    free(server->bounds);
    free(server->folder);
    free(server->url);
    free(server->outside);
    free(server->outside_name);
    free(server);
}

const char *dw_server_url(const DwServer *server)
{
    return server->url;
}

const char *dw_server_outside(const DwServer *server)
{
    return server->outside;
}
