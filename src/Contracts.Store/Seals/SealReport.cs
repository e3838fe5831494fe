namespace Contracts.Store.Seals;

/// <summary>Something that kept a sealing from its work, and where.</summary>
/// <param name="Kind">A word for it, as reports write it.</param>
/// <param name="Stream">The stream it is about, or null.</param>
/// <param name="Version">The version of that stream, or null.</param>
/// <param name="Detail">A sentence.</param>
public sealed record SealAlarm(string Kind, string? Stream, long? Version, string Detail);

/// <summary>What a sealing did.</summary>
/// <param name="Events">How many events it sealed.</param>
/// <param name="Size">How many leaves the log has now.</param>
/// <param name="Checkpoint">The newest signed head, or null where nothing is signed.</param>
/// <param name="Anchors">The anchors that were made.</param>
/// <param name="Alarms">What it could not do. Empty when everything is sealed and signed.</param>
public sealed record SealReport(
    long Events, long Size, StoredCheckpoint? Checkpoint, IReadOnlyList<SealedAnchor> Anchors, IReadOnlyList<SealAlarm> Alarms);
