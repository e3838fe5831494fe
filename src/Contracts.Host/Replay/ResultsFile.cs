using System.Collections.Immutable;
using System.IO.Compression;
using System.Text;
using System.Text.Json;
using Contracts.History;
using Contracts.Replays;
using Contracts.Store;
using NodaTime;
using NodaTime.Text;

namespace Contracts.Host.Replay;

/// <summary>What a results file says of itself.</summary>
/// <param name="Known">Up to which moment events count.</param>
/// <param name="Today">The day on which every account was looked at last.</param>
/// <param name="Shape">Its figures.</param>
internal sealed record ResultsHeader(Instant Known, LocalDate Today, ResultShape Shape);

/// <summary>
/// The results of one build (docs/replay.md): JSON Lines, a header, one line for each contract in the order of ids, and a
/// last line that says how many there were. A name that ends in <c>.gz</c> is compressed.
/// </summary>
internal static class ResultsFile
{
    private const int Form = 1;

    [ThreadStatic]
    private static ResultWriter? writer;

    /// <summary>Writes the results of a source; answers how many contracts and events there were.</summary>
    public static async Task<(long Contracts, long Events)> WriteAsync(ReplaySource source, string path, CancellationToken stop)
    {
        await using var stream = Create(path);
        return await WriteAsync(source, stream, stop).ConfigureAwait(false);
    }

    /// <summary>The same into a stream.</summary>
    public static async Task<(long Contracts, long Events)> WriteAsync(ReplaySource source, Stream stream, CancellationToken stop)
    {
        var (contracts, events) = (0L, 0L);
        await stream.WriteAsync(Header(source), stop).ConfigureAwait(false);
        await foreach (var (line, count) in source.MapAsync(history => (Line(history, source), history.Entries.Length), stop).ConfigureAwait(false))
        {
            await stream.WriteAsync(line, stop).ConfigureAwait(false);
            contracts++;
            events += count;
        }

        await stream.WriteAsync(Json(json =>
        {
            json.WriteNumber("contracts", contracts);
            json.WriteNumber("events", events);
        }), stop).ConfigureAwait(false);
        return (contracts, events);
    }

    /// <summary>One contract's line with its line end.</summary>
    public static byte[] Line(ContractHistory history, ReplaySource source)
    {
        // A worker writes one line after another into the same room: what is kept of each is its bytes alone.
        writer ??= new ResultWriter(Reconstruct.AccountPrinter.Plainly.Encoder!, EventNames.Of);
        var written = writer.Write(history, source.Reference, source.Today);
        var line = GC.AllocateUninitializedArray<byte>(written.Length + 1);
        written.CopyTo(line);
        line[^1] = (byte)'\n';
        return line;
    }

    /// <summary>Opens a file and reads its header.</summary>
    /// <exception cref="FormatException">It is no results file of this form.</exception>
    public static async Task<(ResultsHeader Header, ResultsReader Lines)> OpenAsync(FileInfo file, CancellationToken stop)
    {
        Stream stream = file.OpenRead();
        if (file.Name.EndsWith(".gz", StringComparison.Ordinal)) { stream = new GZipStream(stream, CompressionMode.Decompress); }
        return await OpenAsync(stream, stop).ConfigureAwait(false);
    }

    /// <summary>The same of a stream, which the reader closes.</summary>
    /// <exception cref="FormatException">It is no results file of this form.</exception>
    public static async Task<(ResultsHeader Header, ResultsReader Lines)> OpenAsync(Stream stream, CancellationToken stop)
    {
        var lines = new ResultsReader(stream);
        try
        {
            var first = await lines.NextAsync(stop).ConfigureAwait(false) ?? throw new FormatException("It is empty.");
            using var json = JsonDocument.Parse(first);
            var root = json.RootElement;
            if (root.GetProperty("form").GetInt32() != Form) { throw new FormatException($"Only form {Form} is known here."); }
            return (
                new ResultsHeader(
                    InstantPattern.ExtendedIso.Parse(root.GetProperty("known").GetString()!).GetValueOrThrow(),
                    LocalDatePattern.Iso.Parse(root.GetProperty("today").GetString()!).GetValueOrThrow(),
                    new ResultShape(Names("numbers"), Names("texts"))),
                lines);

            ImmutableArray<string> Names(string name) => [.. root.GetProperty(name).EnumerateArray().Select(one => one.GetString() ?? "")];
        }
        catch (Exception wrong) when (wrong is JsonException or InvalidOperationException or KeyNotFoundException or UnparsableValueException or ArgumentNullException)
        {
            await lines.DisposeAsync().ConfigureAwait(false);
            throw new FormatException("It does not begin as a results file does.", wrong);
        }
    }

    private static Stream Create(string path)
    {
        Stream stream = new FileStream(path, FileMode.Create, FileAccess.Write, FileShare.None, 1 << 16, useAsync: true);
        return path.EndsWith(".gz", StringComparison.Ordinal) ? new GZipStream(stream, CompressionLevel.Fastest) : stream;
    }

    private static byte[] Header(ReplaySource source) => Json(json =>
    {
        json.WriteNumber("form", Form);
        json.WriteString("known", InstantPattern.ExtendedIso.Format(source.Known));
        json.WriteString("today", LocalDatePattern.Iso.Format(source.Today));
        Names("numbers", FigureVector.Numbers);
        Names("texts", FigureVector.Texts);

        void Names(string name, ImmutableArray<string> list)
        {
            json.WriteStartArray(name);
            foreach (var one in list) { json.WriteStringValue(one); }
            json.WriteEndArray();
        }
    });

    private static byte[] Json(Action<Utf8JsonWriter> fields) => Encoding.UTF8.GetBytes(Reconstruct.AccountPrinter.Json(json =>
    {
        json.WriteStartObject();
        fields(json);
        json.WriteEndObject();
    }) + "\n");
}
