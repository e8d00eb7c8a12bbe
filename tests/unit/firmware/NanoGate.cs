// Looks at compiled device assemblies for what the small runtime cannot load or silently does otherwise.
// What and why: measured facts in DEVELOPERS.md ("what nanoFramework cannot do"). The floating-point rule of the
// motion path is MotionPath.cs.

using Mono.Cecil;
using Mono.Cecil.Cil;

namespace Hourhinge.Tests.Firmware;

/// <summary>One gate over one assembly; <see cref="Refusals"/> is empty for an assembly that may go to the
/// device.</summary>
public sealed class NanoGate
{
    private readonly ModuleDefinition _module;
    private readonly DeviceLibraries _libraries;
    private readonly SortedSet<string> _refusals = new(StringComparer.Ordinal);
    private string _where = string.Empty;

    private NanoGate(ModuleDefinition module, DeviceLibraries libraries)
    {
        _module = module;
        _libraries = libraries;
    }

    /// <summary>Every reason why the small runtime cannot run this assembly, each with its place.</summary>
    public static IReadOnlyCollection<string> Refusals(ModuleDefinition module, DeviceLibraries libraries)
    {
        NanoGate gate = new(module, libraries);
        gate.CheckReferences();
        foreach (TypeDefinition type in module.GetTypes())
        {
            gate.CheckType(type);
        }

        return gate._refusals;
    }

    private void Refuse(string why) => _refusals.Add($"{why}: {_where}");

    // The real mscorlib is the judge: a reference that it cannot resolve crashes the loader.
    private void CheckReferences()
    {
        foreach (TypeReference type in _module.GetTypeReferences())
        {
            _where = type.FullName;
            if (_libraries.Find(type) == null)
            {
                Refuse("type missing on the device");
            }
        }

        foreach (MemberReference member in _module.GetMemberReferences())
        {
            _where = member.FullName;
            if (member.DeclaringType is not (ArrayType or GenericInstanceType)
                && _libraries.Find(member.DeclaringType) is TypeDefinition owner
                && !DeviceLibraries.Has(owner, member))
            {
                Refuse("member missing on the device");
            }
        }
    }

    private void CheckType(TypeDefinition type)
    {
        _where = type.FullName;
        if (type.HasGenericParameters)
        {
            Refuse("generic type");
        }

        CheckUse(type.BaseType);
        foreach (InterfaceImplementation used in type.Interfaces)
        {
            CheckUse(used.InterfaceType);
        }

        foreach (FieldDefinition field in type.Fields)
        {
            _where = field.FullName;
            CheckUse(field.FieldType);
        }

        foreach (MethodDefinition method in type.Methods)
        {
            CheckMethod(type, method);
        }
    }

    private void CheckMethod(TypeDefinition type, MethodDefinition method)
    {
        _where = method.FullName;
        if (method.HasGenericParameters)
        {
            Refuse("generic method");
        }

        if (type.IsInterface && method.HasBody && !method.IsStatic)
        {
            Refuse("default interface method");
        }

        CheckUse(method.ReturnType);
        foreach (ParameterDefinition parameter in method.Parameters)
        {
            CheckUse(parameter.ParameterType);
        }

        if (!method.HasBody)
        {
            return;
        }

        foreach (VariableDefinition local in method.Body.Variables)
        {
            if (local.IsPinned)
            {
                Refuse("fixed pointer");
            }

            CheckUse(local.VariableType);
        }

        foreach (Instruction instruction in method.Body.Instructions)
        {
            CheckInstruction(instruction);
        }

        foreach (Instruction instruction in FloatComparisons.In(method))
        {
            Refuse($"comparison that is true for NaN on the device ({instruction.OpCode.Name}); write `b < a` or "
                + "`!(a <= b)`");
        }
    }

    private void CheckInstruction(Instruction instruction)
    {
        if (instruction.OpCode.Name.Contains(".ovf", StringComparison.Ordinal))
        {
            Refuse($"checked arithmetic ({instruction.OpCode.Name})");
        }

        if (instruction.OpCode == OpCodes.Localloc)
        {
            Refuse("stackalloc");
        }

        switch (instruction.Operand)
        {
            case GenericInstanceMethod:
                Refuse("generic method call");
                break;
            case MethodReference called:
                CheckUse(called.DeclaringType);
                CheckUse(called.ReturnType);
                foreach (ParameterDefinition parameter in called.Parameters)
                {
                    CheckUse(parameter.ParameterType);
                }

                break;
            case FieldReference field:
                CheckUse(field.DeclaringType);
                CheckUse(field.FieldType);
                break;
            case TypeReference used:
                CheckUse(used);
                break;
        }
    }

    private void CheckUse(TypeReference? type)
    {
        for (; type != null; type = (type as TypeSpecification)?.ElementType)
        {
            if (type is GenericInstanceType)
            {
                Refuse("generic type in use");
            }

            if (type is ArrayType { Rank: > 1 })
            {
                Refuse("multi-dimensional array");
            }
        }
    }
}

/// <summary>The real mscorlib of nanoFramework and the assemblies that lie beside ours, by assembly name.</summary>
public sealed class DeviceLibraries
{
    private readonly Dictionary<string, ModuleDefinition> _modules = new(StringComparer.Ordinal);

    /// <summary>Reads mscorlib and every further assembly.</summary>
    public DeviceLibraries(string mscorlib, IEnumerable<string> others)
    {
        Add(ModuleDefinition.ReadModule(mscorlib));
        foreach (string path in others)
        {
            Add(ModuleDefinition.ReadModule(path));
        }
    }

    /// <summary>Adds a module unless one of its name is there.</summary>
    public void Add(ModuleDefinition module) => _modules.TryAdd(module.Assembly.Name.Name, module);

    /// <summary>The definition behind a reference; null where no device library has it.</summary>
    public TypeDefinition? Find(TypeReference type)
    {
        TypeReference element = type.GetElementType();
        if (element is TypeDefinition own)
        {
            return own;
        }

        string scope = element.Scope is ModuleDefinition module ? module.Assembly.Name.Name : element.Scope.Name;
        return _modules.TryGetValue(scope, out ModuleDefinition? library)
            ? library.GetType(element.FullName)
            : null;
    }

    /// <summary>True when a type, or one that it inherits from, has this very member.</summary>
    public static bool Has(TypeDefinition? owner, MemberReference member)
    {
        for (; owner != null; owner = owner.BaseType == null ? null : Parent(owner))
        {
            bool found = member is FieldReference
                ? owner.Fields.Any(f => f.Name == member.Name
                    && f.FieldType.FullName == ((FieldReference)member).FieldType.FullName)
                : owner.Methods.Any(m => Same(m, (MethodReference)member));
            if (found)
            {
                return true;
            }
        }

        return false;
    }

    private static TypeDefinition? Parent(TypeDefinition type) =>
        type.BaseType is TypeDefinition own ? own : type.Module.GetType(type.BaseType.FullName);

    private static bool Same(MethodDefinition have, MethodReference want) =>
        have.Name == want.Name
        && have.ReturnType.FullName == want.ReturnType.FullName
        && have.Parameters.Select(p => p.ParameterType.FullName)
        .SequenceEqual(want.Parameters.Select(p => p.ParameterType.FullName));
}
