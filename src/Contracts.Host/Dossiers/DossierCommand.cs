using System.CommandLine;
using Contracts.Agreements;
using Contracts.Host.Sealing;
using Contracts.Host.Terminal;
using Contracts.Store.Dossiers;
using NodaTime;
using Command = System.CommandLine.Command;

namespace Contracts.Host.Dossiers;

/// <summary>`contracts dossier`: one contract, all its events and the proof that they are all, for somebody who has nothing of ours.</summary>
public static class DossierCommand
{
    public static Command Build()
    {
        var contract = new Argument<string>("contract") { Description = "The contract's id, such as C-1042." };
        var on = CommonOptions.On();
        var known = CommonOptions.Known();
        var output = new Option<string>("--out") { Description = "The file to write, a ZIP.", Required = true };
        var by = new Option<string>("--by") { Description = "Who asks.", DefaultValueFactory = _ => "not said" };
        var purpose = new Option<string>("--purpose") { Description = "What for.", DefaultValueFactory = _ => "not said" };
        var command = new Command(
            "dossier", "Write a contract's history with its proofs, to be checked without this program. Example: "
            + "contracts dossier C-1042 --on 2026-12-07 --known 2026-12-08 --out c-1042.zip")
        {
            contract, on, known, output, by, purpose,
        };
        command.SetAction((parse, stop) => Session.RunAsync(
            parse, simulatedClock: false,
            async session =>
            {
                var view = await session.ViewAsync(parse.GetValue(on), parse.GetValue(known), stop).ConfigureAwait(false);
                var id = parse.GetRequiredValue(contract);
                if (await session.Store.Reader.HistoryAsync(id, view.Known, stop).ConfigureAwait(false) is not { IsSigned: true })
                {
                    return session.Refuse(new Refusal(RefusalCode.ContractUnknown, $"No contract {id} was signed, as known at that moment.", "contract"));
                }

                // Everything recorded so far goes under an anchor, so that "these are all" is about now.
                var report = await session.Store.SealerWith(session.Signer).SealAsync(anchor: true, stop).ConfigureAwait(false);
                foreach (var alarm in report.Alarms) { await Console.Error.WriteLineAsync($"contracts: {SealPrinter.Words(alarm)}").ConfigureAwait(false); }
                var request = new DossierRequest(
                    id, view.On, view.Known, await session.Store.Reader.NowAsync(stop).ConfigureAwait(false),
                    parse.GetRequiredValue(by), parse.GetRequiredValue(purpose));
                var bytes = await session.Store.Dossiers.MakeAsync(request, stop).ConfigureAwait(false);
                await File.WriteAllBytesAsync(parse.GetRequiredValue(output), bytes, stop).ConfigureAwait(false);
                var name = parse.GetRequiredValue(output);
                await Console.Error.WriteLineAsync($"{name}: {bytes.Length} bytes; check it with: contracts verify {name}").ConfigureAwait(false);
                return ExitCodes.Done;
            },
            stop));
        return command;
    }
}
