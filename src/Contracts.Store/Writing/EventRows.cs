using System.Buffers;
using System.Text.Json;
using Contracts.Store.Json;
using NodaTime;

namespace Contracts.Store.Writing;

/// <summary>How far a batch takes a stream, and the moment of its last event.</summary>
internal readonly record struct StreamStep(long Before, long Now, Instant At);

/// <summary>The events of a batch as columns of Marten's table.</summary>
internal sealed class EventRows
{
    public Dictionary<string, StreamStep> Streams { get; } = new(StringComparer.Ordinal);

    public List<long> Sequences { get; } = [];

    public List<Guid> Ids { get; } = [];

    public List<string> StreamIds { get; } = [];

    public List<long> Versions { get; } = [];

    public List<byte[]> Data { get; } = [];

    public List<string> Types { get; } = [];

    public List<Instant> Moments { get; } = [];

    public List<string> DotNetTypes { get; } = [];

    public List<byte[]> Headers { get; } = [];

    public static async Task<EventRows> OfAsync(WriteScope scope, Findings findings, CancellationToken stop)
    {
        var rows = new EventRows();
        foreach (var item in findings.Events)
        {
            if (!rows.Streams.TryGetValue(item.Stream, out var step))
            {
                var before = findings.VersionBefore(item.Stream) ?? await scope.VersionAsync(item.Stream, stop).ConfigureAwait(false);
                step = new StreamStep(before, before, item.At);
            }

            step = new StreamStep(step.Before, step.Now + 1, item.At);
            rows.Streams[item.Stream] = step;
            rows.Add(item, step.Now);
        }

        return rows;
    }

    private void Add(NewEvent item, long version)
    {
        var type = item.Data.GetType();
        Sequences.Add(item.Sequence);
        Ids.Add(Guid.CreateVersion7(item.At.ToDateTimeOffset()));
        StreamIds.Add(item.Stream);
        Versions.Add(version);
        Data.Add(EventJson.Write(item.Data));
        Types.Add(EventNames.Of(type));
        Moments.Add(item.At);
        DotNetTypes.Add($"{type.FullName}, {type.Assembly.GetName().Name}");
        Headers.Add(HeadersOf(item));
    }

    private static byte[] HeadersOf(NewEvent item)
    {
        var buffer = new ArrayBufferWriter<byte>(128);
        using (var json = new Utf8JsonWriter(buffer))
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

        return buffer.WrittenSpan.ToArray();
    }
}
