using Contracts.Store.Reading;
using JasperFx.Events;
using Marten;
using Marten.Services;

namespace Contracts.Store.Writing;

/// <summary>Appends what a small batch decided through one Marten session inside the batch's own transaction.</summary>
internal sealed class SessionAppender(Lazy<DocumentStore> marten)
{
    public async Task AppendAsync(WriteScope scope, Findings findings, CancellationToken stop)
    {
        var numbering = new Numbering();
        var options = SessionOptions.ForTransaction(scope.Transaction);
        options.Listeners.Add(numbering);
        await using var session = marten.Value.LightweightSession(options);
        Append(session, findings, numbering);
        Queue(session, findings);
        await session.SaveChangesAsync(stop).ConfigureAwait(false);
    }

    private static void Append(IDocumentSession session, Findings findings, Numbering numbering)
    {
        foreach (var group in findings.Events.GroupBy(item => item.Stream, StringComparer.Ordinal))
        {
            var news = group.ToList();
            var data = news.ConvertAll(item => item.Data);
            var action = findings.VersionBefore(group.Key) switch
            {
                0 => session.Events.StartStream(group.Key, data),
                { } version => session.Events.Append(group.Key, version + news.Count, data),
                null => session.Events.Append(group.Key, data),
            };
            for (var index = 0; index < news.Count; index++)
            {
                Dress(action.Events[index], news[index]);
                numbering.Expect(action.Events[index], news[index].Sequence);
            }
        }
    }

    private static void Dress(IEvent stored, NewEvent item)
    {
        stored.Timestamp = item.At.ToDateTimeOffset();
        stored.SetHeader(StoredEvent.Key, item.Origin.Key);
        if (item.Origin.By is { } actor) { stored.SetHeader(StoredEvent.Actor, actor); }
        if (item.Origin.Reason is { } reason) { stored.SetHeader(StoredEvent.Reason, reason); }
        if (item.Cause is { } cause) { stored.SetHeader(StoredEvent.Cause, cause); }
        if (item.Origin.Approved is { } approved) { stored.SetHeader(StoredEvent.Approved, approved); }
        if (item.Origin.Trace is { } trace) { stored.SetHeader(StoredEvent.Trace, trace); }
    }

    private static void Queue(IDocumentSession session, Findings findings)
    {
        if (findings.Keys.Count > 0) { QueueKeys(session, findings.Keys); }
        if (findings.Released.Count > 0)
        {
            session.QueueSqlCommand("delete from contracts.placements where serial = any(?)", (object)findings.Released.ToArray());
        }

        if (findings.Placed.Count > 0)
        {
            session.QueueSqlCommand(
                "insert into contracts.placements (serial, contract) select * from unnest(?, ?)",
                findings.Placed.Keys.ToArray(), findings.Placed.Values.ToArray());
        }

        if (findings.ClockTo is { } moment)
        {
            session.QueueSqlCommand("update contracts.clock set last = ?::timestamptz", Moments.Text(moment));
        }
    }

    private static void QueueKeys(IDocumentSession session, List<NewKey> keys)
    {
        session.QueueSqlCommand(
            """
            insert into contracts.command_keys (key, contract, recorded_at, outcome)
            select k, c, a, jsonb_build_object('events', n) from unnest(?, ?, ?::timestamptz[], ?) as new (k, c, a, n)
            """,
            keys.Select(key => key.Key).ToArray(),
            keys.Select(key => key.Contract).ToArray(),
            keys.Select(key => Moments.Text(key.At)).ToArray(),
            keys.Select(key => key.Events).ToArray());
    }

    /// <summary>
    /// Marten numbers the events of a batch stream by stream; the store's order of recording is the order in which
    /// they were decided. The numbers are the same, so they are dealt out again before anything is written.
    /// </summary>
    private sealed class Numbering : DocumentSessionListenerBase
    {
        private readonly List<(IEvent Event, long Sequence)> expected = [];

        public void Expect(IEvent stored, long sequence) => expected.Add((stored, sequence));

        public override Task BeforeSaveChangesAsync(IDocumentSession session, CancellationToken token)
        {
            var given = expected.Select(pair => pair.Event.Sequence).ToHashSet();
            if (!given.SetEquals(expected.Select(pair => pair.Sequence)))
            {
                throw new SequenceMovedException();
            }

            foreach (var (stored, sequence) in expected) { stored.Sequence = sequence; }
            return Task.CompletedTask;
        }
    }
}

/// <summary>Something that does not take the writer lock drew sequence numbers meanwhile: the batch is decided again.</summary>
internal sealed class SequenceMovedException : Exception;
