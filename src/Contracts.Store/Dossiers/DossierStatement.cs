using System.Text;
using Contracts.Seals;

namespace Contracts.Store.Dossiers;

/// <summary>
/// The note that signs a whole dossier: the digest of its tag manifest, which holds that of the manifest, which holds those of
/// the files. The log's own key signs it. Its text cannot be taken for a checkpoint, whose second line is a number.
/// </summary>
internal static class DossierStatement
{
    public const string Name = "statement.note";

    public const string TagManifest = "tagmanifest-sha256.txt";

    /// <summary>The text that is signed.</summary>
    public static string Text(string origin, Digest tagManifest) => $"contracts/dossier@v1\n{origin}\n{tagManifest}\n";

    /// <summary>What is wrong with the statement of a dossier, or null.</summary>
    public static DossierFault? Check(SortedDictionary<string, byte[]> files, TlogPolicy keys, string origin)
    {
        if (!files.TryGetValue(Name, out var bytes)) { return new DossierFault("file-missing", $"There is no {Name}."); }
        if (!SignedNote.Parse(bytes).TryGet(out var note, out var fault)) { return DossierLogCheck.At(Name, fault); }
        if (note.Text != Text(origin, Digest.Of(files[TagManifest])))
        {
            return new DossierFault("statement-differs", $"{Name} was signed for other files, or for another log.");
        }

        if (note.Open(keys.Logs.Where(key => string.Equals(key.Name, origin, StringComparison.Ordinal))).TryGet(out _, out fault)) { return null; }
        return fault.Kind == SealFaultKind.SignatureUnknown ? new DossierFault("key-unknown", $"{Name}: {fault.Detail}") : DossierLogCheck.At(Name, fault);
    }
}
