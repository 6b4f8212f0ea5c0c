"""The child process that decodes untrusted clips; `analysis.recording.decode` starts it.

It stands alone: nothing here imports more of the project than this package, so that the child
starts in the time its libraries take to load. libsndfile (by soundfile) reads wav, flac, mp3 and
ogg; FFmpeg (by PyAV) reads MP4, ADTS and WebM.
"""
