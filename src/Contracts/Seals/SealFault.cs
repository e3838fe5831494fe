using System.Text;

namespace Contracts.Seals;

/// <summary>
/// What is wrong with a seal, a proof or a document that someone else made. The names are public and stable, as
/// files and reports write them (see <see cref="SealFault.Slug"/>).
/// </summary>
public enum SealFaultKind
{
    // JSON (RFC 8259, RFC 8785 and the restricted model of docs/seals.md).
    JsonTooLarge = 1,
    JsonNotUtf8 = 2,
    JsonMalformed = 3,
    JsonTooDeep = 4,
    JsonNameRepeated = 5,
    JsonLoneSurrogate = 6,
    JsonNul = 7,
    JsonNotAnInteger = 8,
    JsonNumberTooLarge = 9,
    JsonNotCanonical = 10,

    // Entries of the log.
    EntryTooLong = 20,
    EntryVersionUnknown = 21,
    EntryKindUnknown = 22,
    EntryFieldMissing = 23,
    EntryFieldUnknown = 24,
    EntryFieldInvalid = 25,

    // Trees and proofs (RFC 6962, RFC 9162).
    TreeMalformed = 40,
    ProofIndexOutside = 41,
    ProofLength = 42,
    ProofRootDiffers = 43,
    ProofMalformed = 44,

    // The map of stream heads.
    HeadRepeated = 60,
    HeadDiffers = 61,
    HeadPresent = 62,
    HeadNeighbours = 63,

    // Notes, checkpoints and policies (C2SP).
    KeyMalformed = 80,
    KeyTypeUnknown = 81,
    NoteMalformed = 82,
    NoteTooLarge = 83,
    SignatureUnknown = 84,
    SignatureWrong = 85,
    CheckpointMalformed = 86,
    OriginDiffers = 87,
    PolicyMalformed = 88,
    QuorumMissed = 89,

    // Salted disclosures (RFC 9901).
    DisclosureMalformed = 100,
    DisclosureNotCommitted = 101,
}

/// <summary>One thing that is wrong, and a sentence about it for the person who checks.</summary>
public sealed record SealFault(SealFaultKind Kind, string Detail)
{
    /// <summary>The kind as reports write it, such as <c>proof-root-differs</c>.</summary>
    public string Slug
    {
        get
        {
            var slug = new StringBuilder();
            foreach (var letter in Kind.ToString())
            {
                if (char.IsAsciiLetterUpper(letter) && slug.Length > 0) { slug.Append('-'); }
                slug.Append(char.ToLowerInvariant(letter));
            }

            return slug.ToString();
        }
    }

    public override string ToString() => $"{Slug}: {Detail}";
}
