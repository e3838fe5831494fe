using System.CommandLine;
using Contracts.Agreements;
using Contracts.Host.Terminal;
using Contracts.Store.Papers;

namespace Contracts.Host.Papers;

/// <summary>`contracts reissue`: makes an issued paper again from the events as known then; the same bytes, or why not.</summary>
public static class ReissueCommand
{
    public static System.CommandLine.Command Build()
    {
        var id = new Argument<string>("document-id") { Description = "The paper's id, as `contracts papers` lists it." };
        var (output, pdf) = (PaperOutput.Out(), PaperOutput.Pdf());
        var command = new System.CommandLine.Command("reissue", "Make an issued paper again from the events as known then, byte for byte, or say what has changed.")
        {
            id, output, pdf,
        };
        command.SetAction((parse, stop) => Session.RunAsync(
            parse, simulatedClock: false,
            async session =>
            {
                var target = new PaperOutput(parse.GetValue(output), parse.GetValue(pdf));
                var wanted = parse.GetRequiredValue(id);
                if (await session.Store.Papers.MakeAgainAsync(wanted, stop).ConfigureAwait(false) is not { } again)
                {
                    return session.Refuse(new Refusal(RefusalCode.PaperUnknown, $"No paper was issued as '{wanted}'.", "document-id"));
                }

                if (again.Differs.Count > 0) { return session.Refuse(Differs(again)); }
                await target.WriteAsync(again, stop).ConfigureAwait(false);
                await Console.Error.WriteLineAsync($"The same bytes as issued, SHA-256 {again.Issued.Event.Digest}.").ConfigureAwait(false);
                return ExitCodes.Done;
            },
            stop));
        return command;
    }

    /// <summary>Why a paper cannot be made as it was.</summary>
    internal static Refusal Differs(PaperAgain again) => new(
        RefusalCode.PaperDiffers, $"The paper '{again.Issued.Id}' cannot be made as it was issued. {string.Join("; ", again.Differs)}.",
        again.Differs[0][..again.Differs[0].IndexOf(':', StringComparison.Ordinal)], again.Issued.Event.Digest);
}
