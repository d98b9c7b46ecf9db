/*
 * libcurl's header without its macros of functions' names: the table of late.h has these names.
 */
#ifndef WS_LATE_CURL_PLAIN_H
#define WS_LATE_CURL_PLAIN_H

#include <curl/curl.h>

#undef curl_easy_getinfo
#undef curl_easy_setopt

#endif
