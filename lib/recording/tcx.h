/* TCX v2 with its ActivityExtension. State: struct cw_points. */
#ifndef CW_RECORDING_TCX_H
#define CW_RECORDING_TCX_H

#include "recording/xml.h"

extern const struct cw_xml_handler cw_tcx_handler;

#endif
