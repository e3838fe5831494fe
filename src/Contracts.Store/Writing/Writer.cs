using Contracts.Agreements;
using Contracts.Bank;
using Contracts.History;
using Contracts.Proposals;
using Contracts.Store.Books;
using JasperFx.Events;
using Marten;
using Marten.Exceptions;
using NodaTime;
using Npgsql;

namespace Contracts.Store.Writing;

/// <summary>Runs writing transactions one at a time, and again when another process got in between.</summary>
internal sealed class Writer(NpgsqlDataSource source, Lazy<DocumentStore> marten, StoreSettings settings, Decider decider)
{
    private const int Attempts = 4;

    /// <summary>From this many events on, one round trip of whole arrays is worth more than Marten's session.</summary>
    private const int BulkEvents = 64;

    private const string OutcomeUnknown =
        "The transaction failed; give the same commands again to learn whether they were applied.";

    private static readonly Duration ClockTolerance = Duration.FromMinutes(1);

    private readonly Knowledge knowledge = new();
    private readonly EventRows rows = new();
    private readonly KeyRows keys = new();
    private readonly PostingBatch postings = new();
    private long written;
    private readonly SessionAppender session = new(marten);

    public StoreSettings Settings => settings;

    public Decider Decider => decider;

    public NpgsqlDataSource Source => source;

    /// <summary>How many events were committed since the store was opened.</summary>
    public long Written => Interlocked.Read(ref written);

    /// <summary>Told the number after each commit.</summary>
    public Action<long>? Wrote { get; set; }

    public Task<IReadOnlyList<CommandResult>> ApplyAsync(IReadOnlyList<CommandRequest> batch)
    {
        var mode = settings.SimulatedClock ? ClockMode.Simulated : ClockMode.Real;
        return RunAsync<IReadOnlyList<CommandResult>>(
            mode, NeedsOf(batch),
            async (_, desk) =>
            {
                var results = new CommandResult[batch.Count];
                for (var index = 0; index < results.Length; index++)
                {
                    results[index] = await desk.DecideAsync(batch[index], CancellationToken.None).ConfigureAwait(false);
                }

                return results;
            },
            CancellationToken.None);
    }

    /// <summary>Begins, lets the work decide, writes what it found, commits. Nothing found: nothing written.</summary>
    public async Task<T> RunAsync<T>(
        ClockMode mode, Needs needs, Func<WriteScope, BatchDecider, Task<T>> work, CancellationToken stop)
    {
        for (var attempt = 1; ; attempt++)
        {
            try
            {
                return await TryAsync(mode, needs, work, stop).ConfigureAwait(false);
            }
            catch (Exception fault) when (attempt < Attempts && IsRace(fault))
            {
                knowledge.Forget();
            }
            catch (Exception fault) when (fault is NpgsqlException or MartenException or IOException or TimeoutException || IsRace(fault))
            {
                knowledge.Forget();
                throw new StoreException(OutcomeUnknown, fault);
            }
            catch (ImpossibleHistoryException fault)
            {
                knowledge.Forget();
                throw new StoreException("What is stored cannot have come from accepted commands. Nothing was written.", fault);
            }
            catch
            {
                knowledge.Forget();
                throw;
            }
        }
    }

    private async Task<T> TryAsync<T>(
        ClockMode mode, Needs needs, Func<WriteScope, BatchDecider, Task<T>> work, CancellationToken stop)
    {
        var scope = await WriteScope.BeginAsync(source, knowledge, mode, needs, stop).ConfigureAwait(false);
        await using var ending = scope.ConfigureAwait(false);
        RequireRightClock(scope.Clock, mode);
        var desk = new BatchDecider(scope, settings, decider);
        var posting = new PostingRun(desk.Findings, scope.Clock, knowledge.Books);
        rows.Begin(desk.Findings);
        desk.Decided = () =>
        {
            posting.Decided();
            rows.Decided();
        };
        try
        {
            var result = await work(scope, desk).ConfigureAwait(false);
            if (desk.Findings.IsEmpty) { return result; }
            await WriteAsync(scope, desk.Findings, posting, stop).ConfigureAwait(false);
            var all = Interlocked.Add(ref written, desk.Findings.Events.Count);
            Wrote?.Invoke(all);
            return result;
        }
        catch (InvalidOperationException lost) when (!scope.IsOpen)
        {
            // A server killed at the wrong moment shows as a transaction that is no longer one.
            throw new StoreException(OutcomeUnknown, lost);
        }
        finally
        {
            // Also after a fault: books and rows that are kept must not be worked on behind the next attempt's back.
            await posting.StoppedAsync().ConfigureAwait(false);
            await rows.StoppedAsync().ConfigureAwait(false);
        }
    }

    private async Task WriteAsync(WriteScope scope, Findings findings, PostingRun posting, CancellationToken stop)
    {
        var isSmall = findings.Events.Count < BulkEvents;
        var posted = posting.FinishAsync(postings, isSmall);
        await (isSmall ? session.AppendAsync(scope, findings, stop) : new BulkAppender(rows, keys).AppendAsync(scope, findings, stop)).ConfigureAwait(false);
        await PostingAppender.AppendAsync(scope.Transaction.Connection!, scope.Transaction, await posted.ConfigureAwait(false), stop).ConfigureAwait(false);
        await scope.CommitAsync(CancellationToken.None).ConfigureAwait(false);
    }

    private static void RequireRightClock(ClockReading clock, ClockMode mode)
    {
        if (mode == ClockMode.Simulated && !clock.Simulated)
        {
            throw new StoreException("This store has recorded by the real clock and cannot go over to a simulated one.");
        }

        if (mode == ClockMode.Real && clock.Simulated && clock.Last > clock.Now + ClockTolerance)
        {
            throw new StoreException(
                $"This store's clock was simulated and stands at {Moments.Text(clock.Last)}, ahead of the real time: "
                + "it can be read, and written only with a simulated clock.");
        }
    }

    /// <summary>Whether another writer is the likely cause, so that deciding again on fresh state is right.</summary>
    private static bool IsRace(Exception fault) => fault switch
    {
        PostgresException broken => broken.SqlState is PostgresErrorCodes.UniqueViolation
            or PostgresErrorCodes.SerializationFailure or PostgresErrorCodes.DeadlockDetected,
        StreamMovedException or SequenceMovedException or EventStreamUnexpectedMaxEventIdException or JasperFx.Events.ExistingStreamIdCollisionException
            or Marten.Exceptions.ExistingStreamIdCollisionException => true,
        MartenException { InnerException: { } inner } => IsRace(inner),
        _ => false,
    };

    private static Needs NeedsOf(IReadOnlyList<CommandRequest> batch)
    {
        var keys = new HashSet<string>(StringComparer.Ordinal);
        var contracts = new HashSet<string>(StringComparer.Ordinal);
        var serials = new HashSet<string>(StringComparer.Ordinal);
        var quotes = new HashSet<string>(StringComparer.Ordinal);
        var proposals = new HashSet<string>(StringComparer.Ordinal);
        foreach (var request in batch)
        {
            keys.Add(request.Command.Origin.Key);
            if (QuoteNamed(request.Command) is { } quote) { quotes.Add(quote); }
            if (ProposalNamed(request.Command) is { } proposal)
            {
                proposals.Add(proposal);
                keys.Add(Proposal.KeyOf(proposal));
            }

            if (request.Command is Command.OnUnit unit) { serials.Add(unit.Serial); }
            if (request.Command is Command.SettleEntry settle)
            {
                contracts.UnionWith(settle.Shares.Select(share => share.Contract));
                keys.UnionWith(settle.Shares.Select((_, index) => WaitingEntry.KeyOf(settle.Entry, index)));
            }

            if (request.Command is not Command.OnContract on) { continue; }
            contracts.Add(on.Contract);
            if (SerialWanted(on.Body) is { } serial) { serials.Add(serial); }
        }

        return new Needs([.. keys], [.. contracts], [.. serials], [.. quotes], [.. proposals]);
    }

    private static string? QuoteNamed(Command command) => command switch
    {
        Command.GiveQuote c => c.Quote,
        Command.OnContract { Body: ContractCommand.Sign c } => c.Quote,
        _ => null,
    };

    private static string? ProposalNamed(Command command) => command switch
    {
        Command.Propose c => c.Proposal,
        Command.Approve c => c.Proposal,
        Command.Decline c => c.Proposal,
        _ => null,
    };

    private static string? SerialWanted(ContractCommand command) => command switch
    {
        ContractCommand.Sign c => c.Instrument.Serial,
        ContractCommand.Swap c => c.Serial,
        ContractCommand.Exchange c => c.Instrument.Serial,
        ContractCommand.Reinstate c => c.Serial,
        _ => null,
    };
}
