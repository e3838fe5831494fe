using Contracts.Store;
using JasperFx.Events;
using NodaTime;

namespace Contracts.Benchmarks;

/// <summary>Marten's own bulk append, the peer of a load: the same events, already decided.</summary>
internal static class MartenPeer
{
    public static async Task<List<(string Stream, List<object> Events)>> EventsAsync(ContractsStore store)
    {
        var streams = new List<(string, List<object>)>();
        await foreach (var history in store.Reader.HistoriesAsync(Instant.MaxValue))
        {
            streams.Add((history.Contract, [.. history.Entries.Select(entry => (object)entry.Event)]));
        }

        return streams;
    }

    public static async Task BulkInsertAsync(ContractsStore peer, List<(string Stream, List<object> Events)> streams)
    {
        var graph = ((Marten.DocumentStore)peer.Marten).Options.Events;
        var actions = streams.Select(stream => StreamAction.Start((IEventRegistry)graph, stream.Stream, [.. stream.Events]));
        await peer.Marten.BulkInsertEventsAsync([.. actions], 1000);
    }
}
