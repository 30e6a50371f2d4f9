"""Reading the files that temperature recorders write, whatever their make."""

from haccp.science.recorder.decoding import refuse_oversize
from haccp.science.recorder.reading import MAX_BYTES, RecorderFile, read_recorder_file

__all__ = ["MAX_BYTES", "RecorderFile", "read_recorder_file", "refuse_oversize"]
