using System.Collections.Concurrent;
using System.Runtime.InteropServices;
using System.Text.Json;
using Contracts.Store.Json;
using NodaTime;

namespace Contracts.Store.Writing;

/// <summary>How far a batch takes a stream, and the moment of its last event.</summary>
internal readonly record struct StreamStep(long Before, long Now, Instant At);

/// <summary>The events of a batch as rows of Marten's table. Its memory serves one batch after another.</summary>
internal sealed class EventRows
{
    /// <summary>The columns that are written, in their order.</summary>
    public const string Columns = "seq_id, id, stream_id, version, data, type, timestamp, tenant_id, mt_dotnet_type, headers, is_archived";

    private const short ColumnCount = 11;

    /// <summary>What Marten calls the one tenant of a store that has no more.</summary>
    public const string Tenant = "*DEFAULT*";

    private static readonly ConcurrentDictionary<Type, string> DotNetTypes = new();

    private readonly CopyBuffer rows = new();
    private readonly Utf8JsonWriter json;
    private readonly Dictionary<string, long> versions = new(StringComparer.Ordinal);
    private Findings findings = new(0);
    private SideWork beside = new();
    private int taken;
    private bool isUnsure;

    public EventRows() => json = EventJson.Writer(rows);

    /// <summary>Begins anew with a batch that is still to be decided.</summary>
    public void Begin(Findings batch)
    {
        (findings, beside, taken, isUnsure) = (batch, new SideWork(), 0, false);
        rows.Clear();
        versions.Clear();
    }

    /// <summary>Told after each command: writes the rows of what was decided so far where that is worth a thread.</summary>
    public void Decided()
    {
        if (isUnsure || findings.Events.Count - taken < SideWork.Many) { return; }
        // What the batch decides next changes its lists, so the thread gets its own.
        var sure = new List<(NewEvent Event, long Before)>();
        foreach (var item in findings.Events[taken..])
        {
            if (findings.VersionBefore(item.Stream) is not { } before)
            {
                // Of a stream that is no contract the version has to be asked, and the connection is in use: the rest waits for the end.
                isUnsure = true;
                break;
            }

            sure.Add((item, before));
        }

        taken += sure.Count;
        beside.Add(() => Write(sure));
    }

    /// <summary>Writes the rest; the rows of all events of the batch.</summary>
    /// <param name="streams">How far the batch takes each stream.</param>
    public async Task<CopyBuffer> FinishAsync(Dictionary<string, StreamStep> streams)
    {
        await beside.Whole.ConfigureAwait(false);
        Write([.. findings.Events[taken..].Select(item => (item, streams[item.Stream].Before))]);
        return rows;
    }

    /// <summary>Ends when nothing is worked on any more, whatever became of it.</summary>
    public Task StoppedAsync() => beside.StoppedAsync();

    /// <summary>How far the batch takes each stream.</summary>
    /// <param name="scope">Asked for the version of a stream that the batch does not know.</param>
    /// <param name="findings">What was decided.</param>
    /// <param name="stop">Gives up.</param>
    public static async Task<Dictionary<string, StreamStep>> StreamsAsync(WriteScope scope, Findings findings, CancellationToken stop)
    {
        var streams = new Dictionary<string, StreamStep>(StringComparer.Ordinal);
        foreach (var item in findings.Events)
        {
            if (!streams.TryGetValue(item.Stream, out var step))
            {
                var before = findings.VersionBefore(item.Stream) ?? await scope.VersionAsync(item.Stream, stop).ConfigureAwait(false);
                step = new StreamStep(before, before, item.At);
            }

            streams[item.Stream] = step with { Now = step.Now + 1, At = item.At };
        }

        return streams;
    }

    private void Write(List<(NewEvent Event, long Before)> items)
    {
        foreach (var (item, before) in items)
        {
            ref var version = ref CollectionsMarshal.GetValueRefOrAddDefault(versions, item.Stream, out var isKnown);
            if (!isKnown) { version = before; }
            Write(item, ++version);
        }
    }

    private void Write(NewEvent item, long version)
    {
        var type = item.Data.GetType();
        rows.Row(ColumnCount).Long(item.Sequence).Id(Guid.CreateVersion7(item.At.ToDateTimeOffset())).Words(item.Stream).Long(version);
        WriteJson(item, static (json, item) => EventJson.Write(json, item.Data));
        rows.Words(EventNames.Of(type)).Moment(item.At).Words(Tenant)
            .Words(DotNetTypes.GetOrAdd(type, static type => $"{type.FullName}, {type.Assembly.GetName().Name}"));
        WriteJson(item, WriteHeaders);
        rows.Flag(false);
    }

    private void WriteJson(NewEvent item, Action<Utf8JsonWriter, NewEvent> write)
    {
        var start = rows.OpenJson();
        json.Reset(rows);
        write(json, item);
        json.Flush();
        rows.Close(start);
    }

    private static void WriteHeaders(Utf8JsonWriter json, NewEvent item)
    {
        json.WriteStartObject();
        json.WriteString("key"u8, item.Origin.Key);
        if (item.Origin.By is { } actor) { json.WriteString("actor"u8, actor); }
        if (item.Origin.Reason is { } reason) { json.WriteString("reason"u8, reason); }
        if (item.Cause is { } cause) { json.WriteString("cause"u8, cause); }
        if (item.Origin.Approved is { } approved) { json.WriteString("approved"u8, approved); }
        if (item.Origin.Trace is { } trace) { json.WriteString("trace"u8, trace); }
        json.WriteEndObject();
    }
}
