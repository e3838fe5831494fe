using System.Globalization;
using Contracts.Agreements;
using Contracts.Disclosures;
using Contracts.History;
using Contracts.Terms;
using NodaTime;

namespace Contracts.Papers;

/// <summary>A paper as bytes, and what made them.</summary>
/// <param name="Bytes">The bytes, the same for the same data and template.</param>
/// <param name="Template">Kind and version of the template.</param>
/// <param name="TemplateDigest">SHA-256 of everything the template consists of.</param>
/// <param name="MediaType">What the bytes are.</param>
public sealed record Printed(byte[] Bytes, string Template, string TemplateDigest, string MediaType)
{
    /// <summary>SHA-256 of the bytes.</summary>
    public string Digest => PaperJson.Digest(Bytes);
}

/// <summary>Thrown by a press that cannot make a paper: then none is issued.</summary>
public sealed class PressException(string detail, Exception? cause = null) : Exception(detail, cause);

/// <summary>Puts the data of a paper into a template.</summary>
/// <param name="paper">The data, as <see cref="PaperJson.Bytes"/> writes them.</param>
/// <param name="kind">The kind of paper.</param>
/// <param name="template">The template to use, or null for today's.</param>
public delegate Printed Press(byte[] paper, PaperKind kind, string? template);

/// <summary>What the desk looks at: the view's knowledge, as history and rates hold it.</summary>
/// <param name="Known">The moment.</param>
/// <param name="ThroughSequence">The last event that counts.</param>
public sealed record KnownThrough(Instant Known, long ThroughSequence)
{
    /// <summary>A paper on a fact is made from what was known right after it; any other from what is known now.</summary>
    public static (KnownThrough? Known, Refusal? Refusal) Of(ContractHistory history, ContractCommand.Issue asked, KnownThrough now)
    {
        var (fact, refusal) = PaperMaker.FactOf(history, asked.Kind, asked.For);
        return refusal is not null ? (null, refusal) : (fact is null ? now : new KnownThrough(fact.At, fact.Sequence), null);
    }
}

/// <summary>Makes a paper and the digests by which it can be known again.</summary>
/// <param name="Press">What prints.</param>
/// <param name="FactsDigest">SHA-256 of the stored facts and rates that a history and rates hold.</param>
/// <param name="Rules">The program, as its version names it.</param>
public sealed record PaperDesk(Press Press, Func<ContractHistory, ReferenceData, string> FactsDigest, string Rules)
{
    /// <summary>What is recorded of a paper, or why there is none.</summary>
    /// <param name="history">All that is known of the contract; what came after the knowledge is left out.</param>
    /// <param name="rates">The rates as known then.</param>
    /// <param name="on">The day of the view.</param>
    /// <param name="asked">The paper.</param>
    /// <param name="knowledge">What the view knows.</param>
    public (ContractEvent.DocumentIssued? Issued, Refusal? Refusal) Issue(
        ContractHistory history, ReferenceData rates, LocalDate on, ContractCommand.Issue asked, KnownThrough knowledge)
    {
        var then = history.ThroughSequence(knowledge.ThroughSequence);
        var (paper, refusal) = PaperMaker.Make(then, rates, new PaperRequest(asked.Kind, asked.For, on, knowledge.Known));
        if (refusal is not null) { return (null, refusal); }
        var data = PaperJson.Bytes(paper!);
        try
        {
            var printed = Press(data, asked.Kind, null);
            return (new ContractEvent.DocumentIssued(
                asked.Kind.Word(), asked.For, knowledge.Known, knowledge.ThroughSequence, printed.Template, printed.TemplateDigest, printed.MediaType,
                printed.Digest, PaperJson.Digest(data), FactsDigest(then, rates), Rules, paper!.LawPack) { On = on }, null);
        }
        catch (PressException broken)
        {
            return (null, new Refusal(RefusalCode.PaperNotMade, $"The {asked.Kind.Word()} could not be made, so none was issued: {broken.Message}", "kind"));
        }
    }

    /// <summary>
    /// Makes an issued paper again from what was known then, and says what is not as it was; nothing is when the bytes are the same.
    /// </summary>
    public (byte[]? Data, Printed? Printed, IReadOnlyList<string> Differs) MakeAgain(ContractHistory history, ReferenceData rates, ContractEvent.DocumentIssued issued)
    {
        var then = history.ThroughSequence(issued.ThroughSequence);
        var differs = new List<string>();
        if (FactsDigest(then, rates) != issued.FactsDigest) { differs.Add("data: the stored facts or rates are not those it was made from"); }
        var (paper, refusal) = Again(then, rates, issued);
        if (refusal is not null) { return (null, null, [.. differs, $"rule: {Programs(issued)}: {refusal.Detail}"]); }
        var data = PaperJson.Bytes(paper!);
        if (differs.Count == 0 && PaperJson.Digest(data) != issued.DataDigest) { differs.Add($"rule: the same facts give other data; {Programs(issued)}"); }
        Printed printed;
        try
        {
            printed = Press(data, KindOf(then, issued), issued.Template);
        }
        catch (PressException broken)
        {
            return (data, null, [.. differs, $"template: {issued.Template}: {broken.Message}"]);
        }

        if (printed.Digest == issued.Digest) { return (data, printed, []); }
        if (printed.TemplateDigest != issued.TemplateDigest) { differs.Add($"template: {issued.Template} is not what it was"); }
        if (differs.Count == 0) { differs.Add($"rule: the same data and template give other bytes; {Programs(issued)}"); }
        return (data, printed, differs);
    }

    /// <summary>The data of an issued paper once more.</summary>
    /// <param name="then">What was known of the contract when it was issued, and no more.</param>
    /// <param name="rates">The rates as known then.</param>
    /// <param name="issued">What was recorded of it.</param>
    public static (Paper? Paper, Refusal? Refusal) Again(ContractHistory then, ReferenceData rates, ContractEvent.DocumentIssued issued) =>
        PaperMaker.Make(then, rates, new PaperRequest(KindOf(then, issued), issued.For, issued.On, issued.Known, FormOf(issued), Again: true));

    private static PaperKind KindOf(ContractHistory history, ContractEvent.DocumentIssued issued) =>
        PaperKinds.Read(issued.Kind) ?? throw new ImpossibleHistoryException(history.Contract, $"has a paper of the unknown kind '{issued.Kind}'");

    /// <summary>The words and the look of a paper change together: the number of its template says both.</summary>
    private static int FormOf(ContractEvent.DocumentIssued issued) =>
        int.TryParse(issued.Template.AsSpan(issued.Template.LastIndexOf('.') + 1), NumberStyles.None, CultureInfo.InvariantCulture, out var form) ? form : SigningData.NewestForm;

    private string Programs(ContractEvent.DocumentIssued issued) => $"it was made by {issued.Rules}, this is {Rules}";
}
