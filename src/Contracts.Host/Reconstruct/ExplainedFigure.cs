using Contracts.Agreements;
using Contracts.Explain;
using Contracts.Host.Papers;
using Contracts.Papers;
using Contracts.Store;

namespace Contracts.Host.Reconstruct;

/// <summary>Finds the tree of a figure of an issued paper.</summary>
internal static class ExplainedFigure
{
    /// <summary>The tree of a figure of a paper on a contract with the paper's own names; or why there is none.</summary>
    public static async Task<(ExplainNode? Tree, PaperExplanation? Paper, Refusal? Refusal)> OnPaperAsync(
        ContractsStore store, string contract, string paper, string figure, CancellationToken stop)
    {
        var (again, explanation) = await store.Papers.ExplainAsync(paper, stop).ConfigureAwait(false);
        if (again is null || again.Issued.Contract != contract)
        {
            return (null, null, new Refusal(RefusalCode.PaperUnknown, $"No paper was issued as '{paper}' on {contract}.", "paper"));
        }

        // What cannot be made as it was cannot be explained as what it says.
        if (explanation is null) { return (null, null, ReissueCommand.Differs(again)); }
        return explanation.Of(figure) is { } tree ? (tree, explanation, null) : (null, null, explanation.Unknown(figure));
    }

    /// <summary>A paper has its own day and its own knowledge.</summary>
    public static Refusal ItsOwnView { get; } =
        new(RefusalCode.FieldInvalid, "A paper is of its own day, as known when it was made: 'on' and 'known' go with an account.", "paper");
}
