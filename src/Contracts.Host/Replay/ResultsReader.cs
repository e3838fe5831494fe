using System.Buffers;
using System.IO.Pipelines;
using System.Text;
using System.Text.Json;

namespace Contracts.Host.Replay;

/// <summary>Takes a results file line by line; memory holds one line.</summary>
internal sealed class ResultsReader(Stream stream) : IAsyncDisposable
{
    private readonly PipeReader pipe = PipeReader.Create(stream, new StreamPipeReaderOptions(bufferSize: 1 << 18));

    private byte[]? line;

    /// <summary>The contract of the line that waits; null at the end.</summary>
    public string? Contract { get; private set; }

    /// <summary>The line that waits, with its line end.</summary>
    public byte[] Line => line ?? [];

    /// <summary>How many contracts the file says it has; null until its last line was read.</summary>
    public long? Told { get; private set; }

    /// <summary>How many were read.</summary>
    public long Read { get; private set; }

    /// <summary>Goes to the next contract.</summary>
    /// <exception cref="FormatException">The file breaks off.</exception>
    public async Task MoveAsync(CancellationToken stop)
    {
        line = await NextAsync(stop).ConfigureAwait(false) ?? throw new FormatException("The file breaks off: its last line is missing.");
        (Contract, Told) = Head(line);
        if (Contract is null && Told != Read) { throw new FormatException($"The file says it has {Told} contracts and has {Read}."); }
        if (Contract is not null) { Read++; }
    }

    /// <summary>The next line with its line end, or null after the last.</summary>
    public async Task<byte[]?> NextAsync(CancellationToken stop)
    {
        while (true)
        {
            var read = await pipe.ReadAsync(stop).ConfigureAwait(false);
            var buffer = read.Buffer;
            if (buffer.PositionOf((byte)'\n') is { } end)
            {
                var after = buffer.GetPosition(1, end);
                var bytes = buffer.Slice(0, after).ToArray();
                pipe.AdvanceTo(after);
                return bytes;
            }

            pipe.AdvanceTo(buffer.Start, buffer.End);
            if (read.IsCompleted) { return null; }
        }
    }

    public async ValueTask DisposeAsync()
    {
        await pipe.CompleteAsync().ConfigureAwait(false);
        await stream.DisposeAsync().ConfigureAwait(false);
    }

    /// <summary>The contract is the first member of its line; the last line begins with their number.</summary>
    private static (string? Contract, long? Told) Head(byte[] bytes)
    {
        try
        {
            var json = new Utf8JsonReader(bytes);
            json.Read();
            json.Read();
            var name = json.GetString();
            json.Read();
            return name switch
            {
                "contract" => (json.GetString(), null),
                "contracts" => (null, json.GetInt64()),
                _ => throw new FormatException($"A line begins with '{name}'."),
            };
        }
        catch (Exception wrong) when (wrong is JsonException or InvalidOperationException)
        {
            throw new FormatException($"A line is not of a results file: {Encoding.UTF8.GetString(bytes.AsSpan(0, Math.Min(40, bytes.Length)))}", wrong);
        }
    }
}
