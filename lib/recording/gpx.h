/* GPX 1.0 and 1.1 with the extensions that bicycle devices write. State: struct cw_points. */
#ifndef CW_RECORDING_GPX_H
#define CW_RECORDING_GPX_H

#include "recording/xml.h"

extern const struct cw_xml_handler cw_gpx_handler;

#endif
