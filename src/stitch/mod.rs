//! Stitch generators: run, satin, zigzag, fill, tie; travel routing. Pure geometry to needle points.
