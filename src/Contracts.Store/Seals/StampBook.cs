using System.Security.Cryptography.X509Certificates;
using System.Text;
using NodaTime;
using Npgsql;

namespace Contracts.Store.Seals;

/// <summary>A time stamp that is kept: of which signed head, and the token.</summary>
public sealed record KeptStamp(long Size, byte[] Token);

/// <summary>
/// Time stamps by others over signed heads. What is stamped are the bytes of the note. They are evidence beside the log and no part of it:
/// one that is taken away leaves no trace here, so who relies on one keeps it.
/// </summary>
public sealed class StampBook
{
    /// <summary>How far the authority's clock may be before the server's.</summary>
    private static readonly Duration Skew = Duration.FromMinutes(5);

    private readonly NpgsqlDataSource source;
    private readonly NpgsqlDataSource sealing;
    private readonly SealReader seals;

    internal StampBook(NpgsqlDataSource source, NpgsqlDataSource sealing, SealReader seals) => (this.source, this.sealing, this.seals) = (source, sealing, seals);

    /// <summary>The stamps of heads up to a size, by size.</summary>
    public async Task<IReadOnlyList<KeptStamp>> ListAsync(long size = long.MaxValue, CancellationToken stop = default)
    {
        var kept = new List<KeptStamp>();
        await using var command = source.CreateCommand("select size, token from audit.timestamp where size <= $1 order by size, token");
        command.Parameters.Add(new NpgsqlParameter<long> { TypedValue = size });
        await using var reader = await command.ExecuteReaderAsync(stop).ConfigureAwait(false);
        while (await reader.ReadAsync(stop).ConfigureAwait(false)) { kept.Add(new KeptStamp(reader.GetInt64(0), reader.GetFieldValue<byte[]>(1))); }
        return kept;
    }

    /// <summary>Keeps a token that holds over the head of its size, by roots that were given; else says what is wrong with it.</summary>
    public async Task<(TimeStamp? Stamp, StampFault? Fault)> AddAsync(StoredCheckpoint head, byte[] token, X509Certificate2Collection roots, CancellationToken stop = default)
    {
        var (stamp, fault) = TimeStampCheck.Verify(token, Encoding.UTF8.GetBytes(head.Note), roots);
        if (stamp is null) { return (null, fault); }
        if (stamp.At > await NowAsync(stop).ConfigureAwait(false) + Skew)
        {
            return (null, new StampFault("stamp-from-the-future", $"The token is of {stamp.At}, which has not come yet."));
        }

        if (!stamp.IsRooted) { throw new ArgumentException("A stamp is kept only by a root that was given.", nameof(roots)); }
        await using var command = sealing.CreateCommand("insert into audit.timestamp (size, token) values ($1, $2) on conflict do nothing");
        command.Parameters.Add(new NpgsqlParameter<long> { TypedValue = head.Size });
        command.Parameters.Add(new NpgsqlParameter<byte[]> { TypedValue = token });
        await command.ExecuteNonQueryAsync(stop).ConfigureAwait(false);
        return (stamp, null);
    }

    /// <summary>The server's clock, whatever clock the store's events have: the authority's is of this world too.</summary>
    private async Task<Instant> NowAsync(CancellationToken stop)
    {
        await using var command = source.CreateCommand("select clock_timestamp()");
        await using var reader = await command.ExecuteReaderAsync(stop).ConfigureAwait(false);
        await reader.ReadAsync(stop).ConfigureAwait(false);
        return reader.GetFieldValue<Instant>(0);
    }

    /// <summary>Holds every stamp that is kept against the head it is of.</summary>
    /// <param name="roots">The roots to believe; without any a stamp is checked by itself, which does not say whose it is.</param>
    /// <param name="stop">Gives up.</param>
    public async Task<(int Checked, IReadOnlyList<SealFinding> Findings)> CheckAsync(X509Certificate2Collection? roots, CancellationToken stop = default)
    {
        var findings = new List<SealFinding>();
        var kept = await ListAsync(stop: stop).ConfigureAwait(false);
        foreach (var stamp in kept)
        {
            var head = await seals.CheckpointAsync(stamp.Size, stop).ConfigureAwait(false);
            var fault = head is null
                ? new StampFault("stamp-of-other-data", "There is no signed head of this size.")
                : TimeStampCheck.Verify(stamp.Token, Encoding.UTF8.GetBytes(head.Note), roots).Fault;
            if (fault is null) { continue; }
            findings.Add(new SealFinding(fault.Code, "audit.timestamp", stamp.Size, "token", fault.Detail));
        }

        return (kept.Count, findings);
    }
}
