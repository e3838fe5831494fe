using Contracts.Agreements;
using Contracts.Store.Books;
using NodaTime;

namespace Contracts.Store.Writing;

/// <summary>What a batch decided and the transaction is to write.</summary>
internal sealed class Findings(long nextSequence)
{
    private readonly Dictionary<string, long?> versions = new(StringComparer.Ordinal);
    private readonly HashSet<string> released = new(StringComparer.Ordinal);
    private readonly Dictionary<string, string> placed = new(StringComparer.Ordinal);

    public List<NewEvent> Events { get; } = [];

    public List<NewKey> Keys { get; } = [];

    /// <summary>What is still to be posted, in the order of the commands.</summary>
    public List<PostingJob> Postings { get; } = [];

    /// <summary>Sets that are worked out already: those of the books' own streams.</summary>
    public List<PostingSet> Sets { get; } = [];

    public IReadOnlyCollection<string> Released => released;

    public IReadOnlyDictionary<string, string> Placed => placed;

    /// <summary>Where a simulated clock stands after the batch.</summary>
    public Instant? ClockTo { get; set; }

    public bool IsEmpty => Keys.Count == 0 && Events.Count == 0;

    /// <summary>Adds an event; the version is the stream's before its first event here, null when it is not known.</summary>
    public NewEvent Add(string stream, long? version, object data, Instant at, CommandOrigin origin, string? cause)
    {
        versions.TryAdd(stream, version);
        var item = new NewEvent(stream, data, nextSequence + Events.Count, at, origin, cause);
        Events.Add(item);
        return item;
    }

    public long? VersionBefore(string stream) => versions[stream];

    public void Release(string serial)
    {
        placed.Remove(serial);
        released.Add(serial);
    }

    public void Place(string serial, string contract) => placed[serial] = contract;

    /// <summary>Nothing is to be written after all; what was decided may not be decided on any further.</summary>
    public void Abandon()
    {
        Events.Clear();
        Keys.Clear();
        Postings.Clear();
        Sets.Clear();
        released.Clear();
        placed.Clear();
        ClockTo = null;
    }
}
