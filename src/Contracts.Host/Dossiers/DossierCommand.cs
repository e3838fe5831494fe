using System.Collections.Immutable;
using System.CommandLine;
using Contracts.Agreements;
using Contracts.History;
using Contracts.Host.Sealing;
using Contracts.Host.Terminal;
using Contracts.Households;
using Contracts.Seals;
using Contracts.Store;
using Contracts.Store.Dossiers;
using Contracts.Store.Seals;
using Command = System.CommandLine.Command;

namespace Contracts.Host.Dossiers;

/// <summary>`contracts dossier`: one contract, all its events and the proof that they are all, for somebody who has nothing of ours.</summary>
public static class DossierCommand
{
    private const string NotSaid = "not said";

    public static Command Build()
    {
        var contract = new Argument<string>("contract") { Description = "The contract's id, such as C-1042." };
        var on = CommonOptions.On();
        var known = CommonOptions.KnownOrCheckpoint();
        var output = new Option<string>("--out") { Description = "The file to write, a ZIP.", Required = true };
        var by = new Option<string>("--by") { Description = "Who asks.", DefaultValueFactory = _ => NotSaid };
        var purpose = new Option<string>("--purpose") { Description = "What for.", DefaultValueFactory = _ => NotSaid };
        var since = new Option<FileInfo?>("--since") { Description = "A signed head of the log that the reader keeps; the dossier then shows that the log continues it." };
        var disclose = new Option<string[]>("--disclose")
        {
            Description = "A fact about the family that this reader may see, such as name; give one each time. The reading is recorded with --by and --purpose.",
        };
        var command = new Command(
            "dossier", "Write a contract's history with its proofs, to be checked without this program. Example: "
            + "contracts dossier C-1042 --on 2026-12-07 --known 2026-12-08 --out c-1042.zip")
        {
            contract, on, known, output, by, purpose, since, disclose,
        };
        command.SetAction((parse, stop) => Session.RunAsync(
            parse, simulatedClock: false,
            async session =>
            {
                if (await session.ViewOrCheckpointAsync(parse.GetValue(on), parse.GetValue(known), stop).ConfigureAwait(false) is not { } view) { return ExitCodes.Refused; }
                var id = parse.GetRequiredValue(contract);
                if (await session.Store.Reader.HistoryAsync(id, view.Known, stop).ConfigureAwait(false) is not { IsSigned: true } history)
                {
                    return session.Refuse(new Refusal(RefusalCode.ContractUnknown, $"No contract {id} was signed, as known at that moment.", "contract"));
                }

                var who = new Asker(parse.GetRequiredValue(by), parse.GetRequiredValue(purpose));
                var (facts, refusal) = await FactsAsync(session, history, parse.GetValue(disclose) ?? [], who, stop).ConfigureAwait(false);
                if (refusal is not null) { return session.Refuse(refusal); }
                var kept = parse.GetValue(since) is { } file ? await File.ReadAllBytesAsync(file.FullName, stop).ConfigureAwait(false) : null;
                if (session.Signer is not { } signer) { throw new StoreException("No signer's folder is set (CONTRACTS_SIGNER): a dossier is signed by the log's key."); }

                // Everything recorded so far goes under an anchor, so that "these are all" is about now.
                var report = await session.Store.SealerWith(signer).SealAsync(anchor: true, stop).ConfigureAwait(false);
                foreach (var alarm in report.Alarms) { await Console.Error.WriteLineAsync($"contracts: {SealPrinter.Words(alarm)}").ConfigureAwait(false); }
                var request = new DossierRequest(id, view.On, view.Known.At, await session.Store.Reader.NowAsync(stop).ConfigureAwait(false), who.By, who.Purpose);
                byte[] bytes;
                try
                {
                    bytes = await session.Store.Dossiers.MakeAsync(request, signer, new DossierExtras(kept, view.Known.Size, facts), stop).ConfigureAwait(false);
                }
                catch (SignerException refused)
                {
                    throw new StoreException($"The dossier cannot be signed: {refused.Message}", refused);
                }

                var name = parse.GetRequiredValue(output);
                await File.WriteAllBytesAsync(name, bytes, stop).ConfigureAwait(false);
                await Console.Error.WriteLineAsync($"{name}: {bytes.Length} bytes; check it with: contracts verify {name}").ConfigureAwait(false);
                return ExitCodes.Done;
            },
            stop));
        return command;
    }

    /// <summary>Who asks, and what for.</summary>
    private sealed record Asker(string By, string Purpose);

    /// <summary>The facts that were asked for, read from the vault with the reading on record; or why not.</summary>
    private static async Task<(ImmutableArray<SaltedDisclosure> Facts, Refusal? Refusal)> FactsAsync(
        Session session, ContractHistory history, string[] names, Asker who, CancellationToken stop)
    {
        if (names.Length == 0) { return ([], null); }
        if (who.By == NotSaid || who.Purpose == NotSaid) { throw new UsageException("--disclose needs --by and --purpose: who read a family's facts, and why, is kept."); }
        var household = history.Entries.Select(entry => entry.Event).OfType<ContractEvent.Signed>().First().Household;
        var now = await session.Store.Reader.NowAsync(stop).ConfigureAwait(false);
        var students = names.Any(name => new PersonalFact(name, "").IsOfStudent);
        var view = await session.Store.Households.ReadAsync(household, who.By, who.Purpose, students, now, stop).ConfigureAwait(false);
        var facts = view?.Facts.Where(fact => names.Contains(fact.Name, StringComparer.Ordinal)).OrderBy(fact => fact.Digest, StringComparer.Ordinal).ToImmutableArray() ?? [];
        return names.FirstOrDefault(name => !facts.Any(fact => fact.Name == name)) is { } missing
            ? ([], new Refusal(RefusalCode.HouseholdUnknown, $"Nothing is kept of {household} as '{missing}', or it cannot be read here.", "disclose"))
            : (facts, null);
    }
}
