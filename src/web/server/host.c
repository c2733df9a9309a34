// SPDX-License-Identifier: MIT
// By which names devices may call the bench.
#include "base/memory.h"
#include "base/text.h"
#include "web/server/private.h"

#include <arpa/inet.h>
#include <ifaddrs.h>
#include <net/if.h>
#include <stdlib.h>
#include <string.h>
#include <unistd.h>

// Parts HOST into NAME and the port; a port that is not said is the scheme's own.
static bool part_host(const DwServer *server, const char *host, char name[256], unsigned *port)
{
    const char *colon = strrchr(host, ':');
    size_t length = colon ? (size_t)(colon - host) : strlen(host);
    if (length == 0 || length > 255)
        return false;
    snprintf(name, 256, "%.*s", (int)length, host);
    *port = server->secure ? 443 : 80;
    if (!colon)
        return true;
    char *end;
    unsigned long number = strtoul(colon + 1, &end, 10);
    *port = (unsigned)number;
    return colon[1] >= '0' && colon[1] <= '9' && *end == '\0' && number <= 65535;
}

static bool is_named(const DwServer *server, const char *name)
{
    for (size_t i = 0; i < DW_HOSTS_MOST && server->names[i]; i++)
        if (strcasecmp(name, server->names[i]) == 0)
            return true;
    return false;
}

// The name that the network has for this computer may change while the bench runs.
static bool is_announced(const DwServer *server, const char *name)
{
    char host[DW_ANNOUNCE_HOST];
    return dw_announce_host(server->announce, host) && strcasecmp(name, host) == 0;
}

// Calls of this computer that are up, in the system's order: the first past
// loopback into ADDRESS, and whether one is WANTED (which may be 0).
static bool find_address(uint32_t wanted, uint32_t *address)
{
    struct ifaddrs *all = NULL;
    bool found = false;
    if (getifaddrs(&all) != 0)
        return false;
    for (const struct ifaddrs *one = all; one && !found; one = one->ifa_next) {
        if (!one->ifa_addr || one->ifa_addr->sa_family != AF_INET || !(one->ifa_flags & IFF_UP))
            continue;
        uint32_t here = ntohl(((const struct sockaddr_in *)(const void *)one->ifa_addr)->sin_addr.s_addr);
        found = wanted ? here == wanted : !(one->ifa_flags & IFF_LOOPBACK);
        *address = found ? here : 0;
    }
    freeifaddrs(all);
    return found;
}

static bool listens_anywhere(const DwServer *server)
{
    return server->place.sin_addr.s_addr == htonl(INADDR_ANY);
}

// A number is safe to take: no other site's page can have it in its address.
static bool is_our_number(const DwServer *server, const char *name)
{
    struct in_addr number;
    uint32_t found;
    if (inet_pton(AF_INET, name, &number) != 1)
        return false;
    if (number.s_addr == htonl(INADDR_ANY))
        return false; // reaches this computer, but browsers hold it for another site's
    if (number.s_addr == server->place.sin_addr.s_addr)
        return true;
    return listens_anywhere(server) && find_address(ntohl(number.s_addr), &found);
}

bool dw_host_is_ours(const DwServer *server, const char *host)
{
    char name[256];
    unsigned port;
    if (!part_host(server, host, name, &port) || port != server->port)
        return false;
    return is_named(server, name) || is_our_number(server, name) || is_announced(server, name);
}

bool dw_host_is_loopback(const DwServer *server, const char *host)
{
    char name[256];
    unsigned port;
    struct in_addr number;
    if (!part_host(server, host, name, &port) || port != server->port)
        return false;
    return strcasecmp(name, "localhost") == 0 ||
           (inet_pton(AF_INET, name, &number) == 1 && ntohl(number.s_addr) >> 24 == 127);
}

void dw_host_name(DwServer *server, const char *address, const char *name)
{
    char own[128] = "";
    size_t count = 0;
    server->names[count++] = dw_memory_text("localhost");
    server->names[count++] = dw_memory_text("127.0.0.1");
    if (!listens_anywhere(server)) // "0.0.0.0" is where to listen, not what to be called
        server->names[count++] = dw_memory_text(address);
    if (name)
        server->names[count++] = dw_memory_text(name);
    // Devices find the computer by its own name where the network tells names (RFC 6762).
    if (!server->loopback && gethostname(own, sizeof own - 1) == 0 && *own && !strchr(own, '.'))
        server->names[count++] = dw_text_format("%s.local", own);
}

char *dw_host_outside(const DwServer *server)
{
    if (server->loopback)
        return NULL;
    const char *scheme = server->secure ? "https" : "http";
    if (server->outside_name)
        return dw_text_format("%s://%s:%u", scheme, server->outside_name, server->port);
    uint32_t address = ntohl(server->place.sin_addr.s_addr);
    if (listens_anywhere(server) && !find_address(0, &address))
        return NULL;
    return dw_text_format("%s://%u.%u.%u.%u:%u", scheme, address >> 24, address >> 16 & 255, address >> 8 & 255,
                          address & 255, server->port);
}

char *dw_host_called(const DwServer *server)
{
    char host[DW_ANNOUNCE_HOST];
    if (!dw_announce_host(server->announce, host))
        return NULL;
    return dw_text_format("%s://%s:%u", server->secure ? "https" : "http", host, server->port);
}
