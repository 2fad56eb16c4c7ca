//! NMEA 2000 without sockets.
