using System.Buffers;
using System.Diagnostics;
using Contracts.Agreements;

namespace Contracts.Commands;

/// <summary>Reads what is recorded of a dispute.</summary>
internal static class DisputeReader
{
    private static readonly SearchValues<char> Hex = SearchValues.Create("0123456789abcdef");

    /// <summary>The command of a line with one of its names.</summary>
    public static ContractCommand Body(string name, Fields fields)
    {
        var dispute = CommandReader.Name(fields, "dispute");
        return name switch
        {
            "open-dispute" => new ContractCommand.OpenDispute(dispute, fields.OneOf("claim", DisputeWords.Claims), fields.Text("says"), fields.OptionalText("about")),
            "attach-paper" => new ContractCommand.AttachPaper(dispute, fields.Text("title"), Digest(fields)),
            "answer-dispute" => new ContractCommand.AnswerDispute(dispute, fields.OneOf("finding", DisputeWords.Findings), fields.Text("says")),
            "close-dispute" => new ContractCommand.CloseDispute(dispute, fields.OneOf("outcome", DisputeWords.Outcomes)),
            _ => throw new UnreachableException($"'{name}' is nothing that is recorded of a dispute."),
        };
    }

    private static string Digest(Fields fields)
    {
        var digest = fields.Text("digest");
        return digest.Length == 64 && !digest.AsSpan().ContainsAnyExcept(Hex)
            ? digest
            : throw new Unreadable(RefusalCode.FieldInvalid, "A digest is a SHA-256 in 64 lower-case hex digits.", "digest");
    }
}
